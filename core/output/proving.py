"""An exported file read back and held against the plan, before it replaces anything.

The file is read by parsers that are not ours (``read_back``) and taken to the front by what it says of itself; the plan
is in front coordinates anyway. So a line that was dropped or moved, a layer, a setting, the sheet's size, the
turn: each shows as a difference, and a difference stops the export.
"""

import json
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any

import ezdxf  # noqa: F401 - the whole before its parts (tests/test_libraries_whole_first)
import numpy as np
import shapely
from ezdxf.lldxf.const import DXFError
from lxml import etree

from core.artwork.own_export import exported_face_to_front
from core.element_faults import note_fault
from core.errors import JobError
from core.figures import figures_for
from core.geometry.affine import Affine, apply, compose
from core.geometry.flattening import flatten
from core.geometry.path import ARC, CUBIC, LINE, Floats, Path, polyline
from core.job.plan import LayerPlan, Plan
from core.job.row_lines import hands_over_rows, row_lines_mm
from core.output.proof import ReadBack
from core.output.read_back import (
    ARC_SHARES,
    FLATTENED_MM,
    FoundFile,
    FoundLayer,
    FoundOutline,
    found_in_dxf,
    found_in_svg,
)
from core.output.settings_document import Document, burned_layers, settings_document
from core.progress import Progress, part, silent

ALLOWED_MM = 0.01
PIECE_RAD = 3.0
"""An arc of an SVG is told from its ends, radii and side: it is split where it sweeps more (SVG 2, 9.5.1)."""


class _DifferentError(Exception):
    """What differs, as the end of a sentence."""


def prove(data: bytes, suffix: str, plan: Plan, *, progress: Progress = silent) -> ReadBack:
    """Read an exported ".svg" or ".dxf" back and compare it with the plan. Raises JobError where they differ, Cancelled
    when the progress callback does."""
    try:
        progress(0.0, "reading it back")
        found = found_in_svg(data) if suffix == ".svg" else found_in_dxf(data)
        difference = _svg_difference if suffix == ".svg" else _dxf_difference
        return _compared(found, plan, difference, part(progress, 0.6, 1.0))
    except _DifferentError as difference:
        words = str(difference)
    except (DXFError, etree.XMLSyntaxError) as fault:
        words = f"it can't be read back ({fault})"
    except (ValueError, LookupError, TypeError, AttributeError) as fault:
        note_fault(fault, f"The {suffix[1:].upper()} read back")
        words = f"it can't be read back ({fault})" if type(fault) is ValueError else "it can't be read back"
    raise JobError(
        f"Nothing was written: the {suffix[1:].upper()} is not what was planned: {words}.",
        hint="This is a fault of Tain, not of your artwork. Export the other kind of file, and keep the job file.",
    )


def _compared(
    found: FoundFile, plan: Plan, difference: Callable[[Path, FoundOutline], float], progress: Progress
) -> ReadBack:
    sheet, planned = plan.job.sheet, burned_layers(plan)
    _same_length("sheet's width", found.width_mm, sheet.width_mm)
    _same_length("sheet's height", found.height_mm, sheet.height_mm)
    document = settings_document(plan)
    if found.document != json.loads(json.dumps(document)):
        raise _DifferentError("the settings inside it are others")
    if len(found.layers) != len(planned):
        raise _DifferentError(f"it has {len(found.layers)} layers instead of {len(planned)}")
    to_front = exported_face_to_front(found.document)
    if found.y_up:
        to_front = compose(to_front, (1.0, 0.0, 0.0, -1.0, 0.0, found.height_mm))
    lines = compared = 0
    largest_mm = 0.0
    for layer, one, settings in zip(found.layers, planned, document["layers"], strict=True):
        _same_settings(layer, one, settings)
        outlines = _planned_outlines(one, plan, drop_points=found.y_up)
        if len(layer.outlines) != len(outlines):
            count = f"{len(layer.outlines):,} lines instead of {len(outlines):,}"
            raise _DifferentError(f"layer “{one.layer.name}” has {count}")
        for number, (outline, drawn) in enumerate(zip(layer.outlines, outlines, strict=True)):
            if outline.points is None:
                continue
            if not number % 1_000:
                progress(number / len(outlines), "holding it against the plan")
            path = drawn if isinstance(drawn, Path) else polyline(drawn, closed=True)
            away_mm = difference(path, _moved(outline, to_front))
            if not away_mm <= ALLOWED_MM:
                raise _DifferentError(f"a line on layer “{one.layer.name}” is {_away(away_mm)}")
            compared += 1
            largest_mm = max(largest_mm, away_mm)
        lines += len(outlines)
    return ReadBack(lines=lines, compared=compared, largest_difference_mm=largest_mm)


def _moved(outline: FoundOutline, matrix: Affine) -> FoundOutline:
    return outline if outline.points is None else replace(outline, points=apply(matrix, outline.points))


def _away(away_mm: float) -> str:
    return f"{away_mm:.3f} mm off" if np.isfinite(away_mm) else "another one"


def _same_length(what: str, found_mm: float, wanted_mm: float) -> None:
    if not abs(found_mm - wanted_mm) <= 1e-5 + 1e-9 * wanted_mm:
        raise _DifferentError(f"the {what} is {found_mm:.3f} mm instead of {wanted_mm:.3f} mm")


def _same_settings(layer: FoundLayer, planned: LayerPlan, settings: Document) -> None:
    """The layer's name, purpose, colour and figures as the machine's software finds them on it."""
    wanted = {**settings["recipe"], **settings}
    name = planned.layer.name
    if layer.colour.casefold() != planned.layer.colour.casefold():
        raise _DifferentError(f"layer “{name}” is {layer.colour} instead of {planned.layer.colour}")
    needed = {figure.name for figure in figures_for(type(planned.layer.recipe), planned.layer.purpose)} | {
        "purpose",
        "name",
    }
    needed |= {"lines_moved_for_kerf_mm"} & settings.keys()
    for key in needed - layer.settings.keys():
        raise _DifferentError(f"layer “{name}” does not say its {key.replace('_', ' ')}")
    for key, value in layer.settings.items():
        if key in wanted and not _same(value, wanted[key]):
            raise _DifferentError(f"layer “{name}” says {value} for {key.replace('_', ' ')} instead of {wanted[key]}")


def _same(found: str | float, wanted: Any) -> bool:
    if isinstance(wanted, bool):
        return found in (wanted, "yes" if wanted else "no")
    if isinstance(wanted, int | float):
        try:
            return abs(float(found) - wanted) <= 1e-8 * max(1.0, abs(wanted))
        except ValueError:
            return False
    return found in (wanted, _without_controls(str(wanted)), _short_ascii(str(wanted)))


def _without_controls(text: str) -> str:
    """How XML 1.0 can say it: characters that it does not allow are replaced."""
    return re.sub("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "\ufffd", text)


def _short_ascii(text: str) -> str:
    """How a DXF's extended data can say it."""
    return text.encode("ascii", "replace").decode().replace("\n", " ").replace("\r", " ")[:240]


def _planned_outlines(planned: LayerPlan, plan: Plan, *, drop_points: bool) -> Sequence[Path | Floats]:
    """All of them; drop_points: without those that have no length."""
    bands: list[Path | Floats] = [] if hands_over_rows(planned) else list(planned.bands_mm)
    return [*bands, *(path for path in _outlines(planned, plan) if not drop_points or _has_length(path))]


def _outlines(planned: LayerPlan, plan: Plan) -> Iterator[Path | Floats]:
    """What the plan says is burned on a layer besides bands, outline by outline, front frame; of fills the rings."""
    if planned.layer.purpose != "fill":
        for path in planned.paths:
            yield from path.subpaths()
        return
    if hands_over_rows(planned):
        for ends in row_lines_mm(planned, plan.job):
            yield polyline(ends, closed=False)
        return
    parts = shapely.get_parts(planned.outlines)
    rings = shapely.get_rings(parts[(shapely.get_type_id(parts) == 3) & ~shapely.is_empty(parts)])
    points, ring = shapely.get_coordinates(rings, return_index=True)
    if len(rings):
        yield from np.split(points, np.searchsorted(ring, np.arange(1, len(rings))))


def _has_length(path: Path | Floats) -> bool:
    if not isinstance(path, Path):
        return bool(np.ptp(path, axis=0).max() > 1e-9)
    return bool(np.ptp(path.segments[:, :4].reshape(-1, 2), axis=0).max() > 1e-9) or bool((path.kinds == ARC).any())


# --- outlines of an SVG: point for point -----------------------------------------------------------------------------


def _svg_difference(path: Path, outline: FoundOutline) -> float:
    """The largest distance between points that belong together, infinite where they don't match."""
    if outline.points is None or outline.closed != bool(path.closed[0]):
        return np.inf
    wanted, found = (_without_last_repeat(points) for points in (_points(path), outline.points))
    return _largest(wanted, found) if wanted.shape == found.shape else np.inf


def _points(path: Path) -> Floats:
    """The start, then control points and ends of one subpath's segments; of arcs, points along each piece."""
    parts = [path.start_points[:1]]
    for kind, row in zip(path.kinds.tolist(), path.segments, strict=True):
        if kind == LINE:
            parts.append(row[None, 2:4])
        elif kind == CUBIC:
            parts.append(row[2:].reshape(3, 2))
        else:
            parts.append(_arc_points(row))
    return np.vstack(parts)


def _arc_points(row: Floats) -> Floats:
    pieces = max(1, int(np.ceil(abs(row[7] - row[6]) / PIECE_RAD)))
    shares = (np.arange(pieces)[:, None] + np.array([*ARC_SHARES, 1.0])).ravel() / pieces
    t = row[6] + (row[7] - row[6]) * shares
    points: Floats = row[0:2] + np.cos(t)[:, None] * row[2:4] + np.sin(t)[:, None] * row[4:6]
    return points


def _without_last_repeat(points: Floats) -> Floats:
    """Points without a last one that stands where the one before stands: a line without length closes nothing."""
    return points[:-1] if len(points) > 1 and np.abs(points[-1] - points[-2]).max() <= 2e-6 else points


# --- outlines of a DXF: curves may be followed by chords -------------------------------------------------------------


def _dxf_difference(path: Path, outline: FoundOutline) -> float:
    """The largest distance between two outlines, infinite where one is not closed, ends elsewhere or is longer."""
    if outline.points is None or len(outline.points) < 2 or outline.closed != bool(path.closed[0]):
        return np.inf
    wanted, found = flatten(path, FLATTENED_MM).points, outline.points
    if wanted.shape == found.shape and (away_mm := _largest(wanted, found)) <= ALLOWED_MM:
        return away_mm
    if abs(_length_mm(wanted) - _length_mm(found)) > 0.02 + 0.01 * _length_mm(wanted):
        return np.inf
    ends = 0.0 if outline.closed else min(_largest(wanted[[0, -1]], found[order]) for order in ([0, -1], [-1, 0]))
    return max(ends, _apart(wanted, found))


def _apart(one: Floats, other: Floats) -> float:
    """The Hausdorff distance of two polylines, taken at their vertices."""
    if len(one) * len(other) <= MOST_PAIRS:
        return float(shapely.hausdorff_distance(shapely.LineString(one), shapely.LineString(other)))
    return max(_farthest(one, other), _farthest(other, one))


MOST_PAIRS = 100_000
"""Of vertices, above which a tree of segments is quicker."""


def _farthest(points: Floats, line: Floats) -> float:
    segments: Any = shapely.linestrings(np.stack([line[:-1], line[1:]], axis=1))
    tree = shapely.STRtree(segments)
    _, distances = tree.query_nearest(shapely.points(points), return_distance=True, all_matches=False)
    return float(distances.max())


def _length_mm(points: Floats) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def _largest(one: Floats, other: Floats) -> float:
    return float(np.hypot(*(one - other).T).max())
