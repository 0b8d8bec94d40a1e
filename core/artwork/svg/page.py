"""How large the page is, and what one user unit is in mm."""

import math
import re
from dataclasses import dataclass

from core.artwork.drawing import ReadOptions
from core.artwork.svg.document import Document, Node
from core.artwork.svg.findings import Findings
from core.artwork.svg.limits import MAX_COORDINATE_MM
from core.artwork.svg.styles import Styles
from core.artwork.svg.values import length_px, parse_view_box, split_length, view_box_matrix
from core.errors import UnitsUnknownError, UnreadableError
from core.geometry.affine import IDENTITY, Affine, compose, scaling
from core.units import MM_PER_INCH, MM_PER_UNIT

PHYSICAL_UNITS = frozenset({"in", "cm", "mm", "q", "pt", "pc"})
MM_PER_PX = MM_PER_INCH / 96
"""W3C CSS Values and Units: 96 px an inch."""

FALLBACK_VIEWPORT = (100.0, 100.0)
"""What percentages refer to where the file gives no size at all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """The page. ``size_px`` is None where only the drawing itself can tell (neither size nor viewBox)."""

    size_px: tuple[float, float] | None
    mm_per_px: float
    units_from: str
    to_mm: Affine
    """User units of the root's content to mm."""
    viewport: tuple[float, float]
    """What percentages refer to, in user units."""


def page_of(root: Node, styles: Styles, options: ReadOptions, findings: Findings) -> Page:
    """The page of the document. Raises UnitsUnknownError where nothing says how large it is (and nothing may be
    assumed), UnreadableError where its size makes no sense."""
    view_box = parse_view_box(root.attributes.get("viewBox"))
    if view_box is None and root.attributes.get("viewBox"):
        findings.add("bad-view-box", "The viewBox of the file makes no sense and was left out of account.")
    given = [_given(root, styles, name, findings) for name in ("width", "height")]
    size_px = _size_px(given, view_box, styles)
    mm_per_px, units_from = _unit(given, view_box, options, size_px)
    if size_px is not None and options.units is not None and view_box is not None and _physical(given):
        # the file's own size is said to be wrong: one unit of its coordinates is what the maker says
        size_px = view_box[2:]
    if size_px is not None and not max(size_px) * mm_per_px <= MAX_COORDINATE_MM:
        raise UnreadableError(
            f"The page of the SVG file is {size_px[0] * mm_per_px:.3g} x {size_px[1] * mm_per_px:.3g} mm large.",
            hint="Set the document's width and height to its real size and export it again.",
        )
    to_px, viewport = IDENTITY, size_px or FALLBACK_VIEWPORT
    if view_box is not None and size_px is not None:
        to_px = view_box_matrix(view_box, *size_px, root.attributes.get("preserveAspectRatio"))
        viewport = view_box[2:]
    to_mm = compose(scaling(mm_per_px, mm_per_px), to_px)
    return Page(size_px=size_px, mm_per_px=mm_per_px, units_from=units_from, to_mm=to_mm, viewport=viewport)


def _given(root: Node, styles: Styles, name: str, findings: Findings) -> str | None:
    text = styles.geometry(root, name)
    if text is None or not text.strip():
        return None
    parts = split_length(text)
    if parts is None:
        findings.add("bad-size", f"The {name} of the file, “{text[:40]}”, is no length and was left out of account.")
        return None
    if parts[0] <= 0:
        raise UnreadableError(
            f"The SVG file says its {name} is {text[:40].strip()}.", hint="Set the document's size and export it again."
        )
    return text


def _physical(given: list[str | None]) -> str | None:
    """The unit, where one of the two sizes has a real one."""
    for text in given:
        parts = split_length(text) if text else None
        if parts is not None and parts[1] in PHYSICAL_UNITS:
            return parts[1]
    return None


def _size_px(
    given: list[str | None], view_box: tuple[float, float, float, float] | None, styles: Styles
) -> tuple[float, float] | None:
    sizes: list[float | None] = []
    for axis, text in enumerate(given):
        parts = split_length(text) if text else None
        if parts is None or (parts[1] == "%" and view_box is None):
            sizes.append(None)
        else:
            base = view_box[2 + axis] if view_box else 0.0
            sizes.append(
                length_px(
                    text,
                    percent_of=base,
                    font_size_px=styles.root_font_size_px,
                    root_font_size_px=styles.root_font_size_px,
                )
            )
    width, height = sizes
    if view_box is not None:
        if width is None and height is None:
            return view_box[2:]
        if width is None and height is not None:
            width = height * view_box[2] / view_box[3]
        elif height is None and width is not None:
            height = width * view_box[3] / view_box[2]
    if width is None or height is None:
        return None
    if not (math.isfinite(width) and math.isfinite(height)):
        raise UnreadableError("The size of the SVG file is not finite.")
    return (width, height)


def _unit(
    given: list[str | None],
    view_box: tuple[float, float, float, float] | None,
    options: ReadOptions,
    size_px: tuple[float, float] | None,
) -> tuple[float, str]:
    """(mm per px, where that comes from)."""
    if options.units is not None:
        return _mm_per(options.units), f"--units {options.units}"
    physical = _physical(given)
    if physical is not None:
        name = "quarter mm" if physical == "q" else physical
        return MM_PER_PX, f"width and height in {name}"
    if options.assume_units is None:
        size = f" ({size_px[0]:g} x {size_px[1]:g} units)" if size_px else ""
        raise UnitsUnknownError(
            f"The SVG file does not say how large it is in mm or inches{size}.",
            hint="Say what one unit is: mm, in, px (96 an inch), pt …",
        )
    if options.assume_units == "px":
        return MM_PER_PX, "assumed 96 px an inch"
    return _mm_per(options.assume_units), f"assumed one unit is 1 {options.assume_units}"


def _mm_per(unit: str) -> float:
    if unit not in MM_PER_UNIT:
        raise UnreadableError(f"“{unit}” is not a unit known here.", hint=f"Use one of {', '.join(MM_PER_UNIT)}.")
    return MM_PER_UNIT[unit]


_EARLY_VERSION = re.compile(r"0\.(?:[0-8]\d?|90?|91)(?:[^\d]|$)")
_EXPORT_PLUG_IN = re.compile(r"generator:.*svg export plug-in", re.IGNORECASE | re.DOTALL)


def marked_units_an_inch(document: Document) -> int | None:
    """How many units an inch the marks of the program that wrote the file speak of, None where they say nothing.

    90: an editor that notes its own version beside the format's and went over to CSS's 96 with 0.92 (its release notes
    of 2017); 72: an export plug-in that names itself so and writes points (common practice, no source).
    """
    own_version = document.root.attributes.get(":version", "")
    if _EARLY_VERSION.match(own_version):
        return 90
    if any(_EXPORT_PLUG_IN.search(comment) for comment in document.preamble):
        return 72
    return None
