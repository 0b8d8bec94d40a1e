"""What can be put right in a DXF file's text before the library reads it, and what must be left out of it.

Works on text with plain line ends. Whatever was done is a finding.
"""

import io
import re
import struct
from collections.abc import Iterator

import ezdxf  # noqa: F401 - the whole before its parts (tests/test_libraries_whole_first)
from ezdxf.entities import factory
from ezdxf.lldxf.const import DXFError
from ezdxf.lldxf.extendedtags import ExtendedTags
from ezdxf.lldxf.tagger import ascii_tags_loader, tag_compiler

from core.artwork.drawing import Finding

FAULTS: tuple[type[Exception], ...] = (
    DXFError,
    OSError,
    ValueError,
    TypeError,
    LookupError,
    AttributeError,
    ArithmeticError,
    AssertionError,
    RecursionError,
    struct.error,
)
"""What the library may raise on broken content."""

DECIMAL_COMMA = re.compile(r"[-+]?\d*,\d+([eE][-+]?\d+)?")
FLOAT_CODES = frozenset((*range(10, 60), *range(110, 150), *range(210, 240), *range(460, 470), *range(1010, 1060)))
"""Group codes whose values are real numbers (DXF Reference, Group Codes in Numerical Order)."""

_MARKERS = {
    "LWPOLYLINE": "AcDbPolyline", "SPLINE": "AcDbSpline", "MTEXT": "AcDbMText", "HATCH": "AcDbHatch",
    "MLINE": "AcDbMline", "LEADER": "AcDbLeader", "MPOLYGON": "AcDbMPolygon", "IMAGE": "AcDbRasterImage",
    "WIPEOUT": "AcDbWipeout",
}  # fmt: skip
"""Subclass markers (group 100) that the library does not do without (DXF Reference, ENTITIES section)."""

_BEFORE_MARKERS = frozenset({0, 5, 102, 330, 360})
_COMMON = frozenset({6, 8, 48, 60, 62, 67, 92, 160, 310, 347, 348, 370, 390, 410, 420, 430, 440, 284})
"""Group codes of every entity (DXF Reference, Common Group Codes for Entities); 92 and 310 not in hatches."""

_NAMED = 3
"""Damaged entities that are named one by one."""


def mended(text: str) -> tuple[str, tuple[Finding, ...]]:
    """The text with what can be mended safely: decimal commas, a missing end, missing subclass markers."""
    lines = text.split("\n")
    steps = (_with_decimal_points(lines), _with_an_end(lines), _with_markers(lines))
    findings = [finding for finding in steps if finding]
    return "\n".join(lines), tuple(findings)


def _with_decimal_points(lines: list[str]) -> Finding | None:
    changed = 0
    for index in range(0, len(lines) - 1, 2):
        value = lines[index + 1]
        if "," not in value or not DECIMAL_COMMA.fullmatch(value.strip()):
            continue
        if lines[index].strip().isdecimal() and int(lines[index]) in FLOAT_CODES:
            lines[index + 1] = value.replace(",", ".")
            changed += 1
    if not changed:
        return None
    return Finding(
        code="dxf-decimal-commas",
        message=f"{changed} numbers were written with a decimal comma and read as if with a point: check the size.",
    )


def _with_an_end(lines: list[str]) -> Finding | None:
    """Where the file stops early, close it after its last whole entity. Changes the lines."""
    while lines and not lines[-1].strip():
        lines.pop()
    codes = [line.strip() for line in lines[0::2]]
    if "0" not in codes or (len(lines) % 2 == 0 and lines[-2].strip() == "0" and lines[-1].strip() == "EOF"):
        return None
    last = 2 * (len(codes) - 1 - codes[::-1].index("0"))
    name = lines[last + 1].strip() if last + 1 < len(lines) else ""
    if name == "EOF":
        del lines[last + 2 :]
        return Finding(
            code="dxf-text-after-end", message="What stood after the file's end mark was not read.", severity="note"
        )
    if name == "ENDSEC":
        del lines[last + 2 :]
        lines += ["  0", "EOF", ""]
        return Finding(
            code="dxf-no-end-mark", message="The file has no end mark; all its sections are whole.", severity="note"
        )
    del lines[last:]
    lines += ["  0", "ENDSEC", "  0", "EOF", ""]
    return Finding(
        code="dxf-cut-short",
        message="The file stops in the middle: what came after its last whole entity is missing.",
        severity="problem",
    )


def _with_markers(lines: list[str]) -> Finding | None:
    """Put in subclass markers where entities that need them have none. Changes the lines."""
    counts: dict[str, int] = {}
    result: list[str] = []
    for kind, chunk in list(_entities(lines)):
        marker = _MARKERS.get(kind)
        if marker is None or not _lacks(chunk, marker):
            result += chunk
            continue
        counts[kind] = counts.get(kind, 0) + 1
        result += _marked(chunk, marker)
    if not counts:
        return None
    lines[:] = result
    what = ", ".join(f"{count} {kind}" for kind, count in counts.items())
    return Finding(
        code="dxf-markers-missing",
        message=f"Entities without their subclass markers were read as if they had them: {what}.",
        severity="note",
    )


def _entities(lines: list[str]) -> Iterator[tuple[str, list[str]]]:
    """(kind, lines) from one group 0 to the next, in order, all lines of the file."""
    starts = [i for i in range(0, len(lines) - 1, 2) if lines[i].strip() == "0"]
    if not starts:
        yield "", lines
        return
    if starts[0]:
        yield "", lines[: starts[0]]
    for start, stop in zip(starts, [*starts[1:], len(lines)], strict=True):
        yield lines[start + 1].strip(), lines[start:stop]


def _lacks(chunk: list[str], marker: str) -> bool:
    return not any(
        code.strip() == "100" and value.strip() == marker for code, value in zip(chunk[0::2], chunk[1::2], strict=False)
    )


def _marked(chunk: list[str], marker: str) -> list[str]:
    """An entity's lines put in order: what comes before the markers, what all entities have, its own."""
    head: list[str] = []
    common: list[str] = []
    own: list[str] = []
    extra: list[str] = []
    for code, value in zip(chunk[0::2], chunk[1::2], strict=False):
        number = int(code) if code.strip().isdecimal() else -1
        if extra or number >= 1000:
            part = extra
        elif number == 100:
            continue
        elif number in _BEFORE_MARKERS and not own:
            part = head
        elif number in _COMMON and not own and not (marker == "AcDbHatch" and number in (92, 310)):
            part = common
        else:
            part = own
        part += [code, value]
    rest = chunk[len(chunk) // 2 * 2 :]
    return [*head, "100", "AcDbEntity", *common, "100", marker, *own, *extra, *rest]


def without_bad_entities(text: str) -> tuple[str, tuple[Finding, ...]]:
    """The text without the entities that the library can't load, each tried by itself."""
    kept: list[str] = []
    dropped: list[str] = []
    section = ""
    for kind, chunk in _entities(text.split("\n")):
        if kind == "SECTION" and len(chunk) > 3:
            section = chunk[3].strip()
        if section in ("ENTITIES", "BLOCKS") and kind not in _STRUCTURE and not _loads(chunk):
            handle = next(
                (value.strip() for code, value in zip(chunk[0::2], chunk[1::2], strict=False) if code.strip() == "5"),
                "",
            )
            dropped.append(f"{kind[:40]} {handle[:20]}".strip())
            continue
        kept += chunk
    if not dropped:
        return text, ()
    more = f" and {len(dropped) - _NAMED} more" if len(dropped) > _NAMED else ""
    what = "1 damaged entity was" if len(dropped) == 1 else f"{len(dropped)} damaged entities were"
    message = f"{what} left out: {', '.join(dropped[:_NAMED])}{more}."
    return "\n".join(kept), (Finding(code="dxf-bad-entity", message=message, severity="problem"),)


_STRUCTURE = frozenset({"", "SECTION", "ENDSEC", "EOF", "BLOCK", "ENDBLK", "SEQEND"})


def _loads(chunk: list[str]) -> bool:
    try:
        text = "\n".join([*chunk, "0", "EOF", ""])  # the library looks one tag ahead
        tags = list(tag_compiler(ascii_tags_loader(io.StringIO(text))))
        factory.load(ExtendedTags(tags[:-1]), None)
    except FAULTS:
        return False
    return True
