"""One registry of findings: each code's severity, the stage where it is dealt with, and what its repairs do.

Who adds a finding adds its line here; a test holds what the program says against this table.
"""

from dataclasses import dataclass
from typing import Literal

Severity = Literal["note", "warning", "problem"]
Stage = Literal["artwork", "layers", "sheet", "burn", "coverage", "paint"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something the maker should know about the artwork or the job.

    ``code`` is stable and kebab-case; ``message`` one plain sentence; the place is in the drawing's frame (for
    findings of a drawing) or the sheet's front frame (for findings of a plan). A ``problem`` stops the hand-over,
    a ``warning`` wants a look, a ``note`` is for the record. ``repair`` names the repair that mends it, if any.
    """

    code: str
    message: str
    severity: Severity = "warning"
    x_mm: float | None = None
    y_mm: float | None = None
    shape_ids: tuple[str, ...] = ()
    repair: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingKind:
    """What is known of all findings of one code.

    severities: those it may have; stage: where the maker deals with it; repairs: names of what may mend it.
    """

    code: str
    severities: tuple[Severity, ...]
    stage: Stage
    repairs: tuple[str, ...] = ()


REPAIRS: dict[str, str] = {
    "join-ends": "ends joined that nearly meet",
    "drop-doubled-lines": "lines drawn twice dropped",
    "trim-overlapping-lines": "overlapping lines trimmed",
    "untangle-outlines": "outlines untangled",
    "drop-off-page": "what lies off the page dropped",
    "drop-small-holes": "holes too small to cut dropped",
    "drop-specks": "specks dropped",
    "scale-72-to-96": "scaled from 72 to 96 units an inch",
    "scale-90-to-96": "scaled from 90 to 96 units an inch",
    "scale-inch-as-mm": "inches read as inches",
    "scale-mm-as-inch": "millimetres read as millimetres",
}
"""What each repair does, in words; a finding's repair may carry a width behind a colon."""

_SCALES = ("scale-72-to-96", "scale-90-to-96", "scale-inch-as-mm", "scale-mm-as-inch")


def _kinds(stage: Stage, severity: Severity, *codes: str) -> list[FindingKind]:
    return [FindingKind(code=code, severities=(severity,), stage=stage) for code in codes]


_ALL = [
    # what a reader could not take, or took in its own way
    *_kinds(
        "artwork", "warning",
        "bad-clip", "bad-filter", "bad-length", "bad-mask", "bad-path-data", "bad-points", "bad-size", "bad-transform",
        "bad-view-box", "clip-loop", "element-unreadable", "faint-paint", "filter", "font-missing",
        "font-style-missing", "foreign-object", "glyph-missing", "image", "mask-loop", "missing-paint",
        "missing-reference", "negative-size", "no-page-size", "out-of-range", "outside-reference", "pattern-loop",
        "too-many-dashes", "too-many-tiles", "too-much-blur", "units-assumed", "use-loop",
        "dxf-annotation", "dxf-bad-coordinates", "dxf-block-clip", "dxf-block-cycle",
        "dxf-block-scale", "dxf-dashed", "dxf-decimal-commas", "dxf-external", "dxf-font-missing",
        "dxf-hatch-as-solid", "dxf-hidden", "dxf-no-font", "dxf-no-glyph", "dxf-not-read", "dxf-paper-read",
        "dxf-paper-space",
        "dxf-recovered", "dxf-text-stacked", "dxf-text-too-long", "dxf-tilted", "dxf-too-many-copies",
        "pdf-bad-object", "pdf-differs", "pdf-hidden", "pdf-image", "pdf-pattern", "pdf-shading", "pdf-text",
        "picture-coarse", "picture-clipped", "picture-heavy", "picture-look",
        "pdf-too-deep", "pdf-too-large", "pdf-transparency",
    ),
    *_kinds(
        "artwork", "note",
        "animation", "blur", "filtered", "gradient", "image-taken", "pattern", "script", "text-outlined", "transparent",
        "unknown-element", "glyph-borrowed", "unseen-strokes",

        "dxf-glyph-borrowed", "dxf-invisible", "dxf-markers-missing", "dxf-no-end-mark", "dxf-points",
        "dxf-text-after-end", "pdf-font", "pdf-notes", "pdf-pages",
        "pdf-unchecked", "picture-cost", "picture-specks", "picture-tones",
    ),
    *_kinds("artwork", "problem", "no-font", "too-tangled", "dxf-cut-short", "dxf-numbers-guessed"),
    FindingKind(code="dxf-bad-entity", severities=("warning", "problem"), stage="artwork"),
    FindingKind(code="faint-paint-stacked", severities=("warning", "note"), stage="artwork"),
    # what is wrong with the artwork itself
    FindingKind(code="looks-reversed", severities=("warning", "note"), stage="artwork"),
    FindingKind(code="scale-looks-wrong", severities=("warning",), stage="artwork", repairs=_SCALES),
    FindingKind(code="open-ends", severities=("warning",), stage="artwork", repairs=("join-ends",)),
    FindingKind(code="loose-lines", severities=("warning",), stage="artwork", repairs=("join-ends",)),
    FindingKind(code="doubled-lines", severities=("warning",), stage="artwork", repairs=("drop-doubled-lines",)),
    FindingKind(code="shared-lines", severities=("note",), stage="artwork"),
    FindingKind(
        code="overlapping-lines", severities=("warning",), stage="artwork", repairs=("trim-overlapping-lines",)
    ),
    FindingKind(code="crosses-itself", severities=("warning",), stage="artwork", repairs=("untangle-outlines",)),
    FindingKind(code="hole-too-small", severities=("warning",), stage="artwork", repairs=("drop-small-holes",)),
    FindingKind(code="speck", severities=("warning",), stage="artwork", repairs=("drop-specks",)),
    FindingKind(code="off-page", severities=("warning",), stage="artwork", repairs=("drop-off-page",)),
    # what shapes are for
    *_kinds(
        "layers", "warning", "undecided", "white-over-dark", "fill-across-cut", "fill-outside-cut", "no-area",
    ),
    *_kinds("layers", "note", "lines-burned-once", "nothing-cut", "nothing-filled"),
    # a list of names and what is made of its rows
    *_kinds(
        "layers", "warning",
        "list-encoding", "list-separators", "list-formula", "list-unreadable-row", "list-ragged", "list-line-break",
        "list-control", "list-bad-letters", "list-long-cell", "text-not-fitted", "text-overlaps", "text-too-long",
        "row-doubled", "row-empty", "row-count", "row-no-number", "field-no-column", "field-out-of-reach",
    ),
    *_kinds("layers", "note", "list-no-header", "list-empty-row", "list-markup", "text-fitted", "row-off", "row-none",
            "column-no-field"),
    *_kinds("sheet", "problem", "part-no-room"),
    *_kinds("sheet", "note", "part-later"),
    # the sheet and where things lie on it
    *_kinds("sheet", "problem", "off-sheet", "stock-refused", "copies-overlap", "in-zone"),
    *_kinds(
        "sheet", "warning",
        "flaw-shows", "sheet-over-bed", "thickness-differs", "near-edge", "stop-corner-missing", "stop-loose",
        "fields-as-they-stand",
    ),
    *_kinds("sheet", "note", "sheet-assumed"),
    # recipes and what is known of them
    *_kinds("burn", "problem", "stock-not-cut", "kerf-shared-lines"),
    *_kinds(
        "burn", "warning",
        "speed-over-machine", "kerf-open-lines", "kerf-lost-holes", "kerf-lost-slots", "kerf-too-near",
        "hole-at-the-edge", "beyond-the-model",
        "cuts-contradict", "jobs-too-alike", "line-missing", "odd-reading", "patches-contradict", "powers-too-close",
        "scattered-readings", "widths-and-patches-disagree", "edges-kept", "shared-error", "far-from-known",
        "batch-not-tried", "row-step",
    ),
    *_kinds(
        "burn", "note", "defocused-spot", "few-readings", "one-sided", "two-timed-jobs", "wide-bounds",
        "wide-gaps-unknown", "narrowest-is-not-focus",
    ),
    *_kinds("coverage", "warning", "leaves-lines", "frosts", "not-reached", "missed-parts"),
    # after the laser
    *_kinds("paint", "problem", "burn-refused", "turns-freely", "no-datum"),
    *_kinds(
        "paint", "warning", "overlap-frosts", "stack-not-clean", "stack-not-tried", "no-backing",
        "paint-without-coat", "specks-dropped", "tight-mask", "weak-paint",
    ),
    *_kinds("paint", "note", "order-names-unused"),
    # what came out wrong
    *_kinds("paint", "warning", "came-out-wrong-before", "marks-contradict", "paint-not-known"),
    *_kinds("paint", "warning", "too-few-patches", "wait-not-kept"),
    *_kinds("paint", "note", "no-cause-fits", "no-job"),
    *_kinds("paint", "note", "trial-extended", "trial-finds", "trial-half-read", "trial-scale"),
    *_kinds("burn", "warning", "burned-wrong-before"),
]  # fmt: skip

FINDINGS: dict[str, FindingKind] = {kind.code: kind for kind in _ALL}


def stage_of(code: str) -> Stage:
    """Where a finding of that code is dealt with; what nobody knows is looked at with the artwork."""
    return FINDINGS[code].stage if code in FINDINGS else "artwork"


def repair_words(repair: str) -> str:
    """What a repair does, in words; it may carry a width after a colon."""
    name = repair.partition(":")[0]
    return REPAIRS.get(name, name.replace("-", " "))
