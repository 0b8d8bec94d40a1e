"""What may be wrong with thin lines: ends that miss each other, lines drawn twice, outlines that cross themselves."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.artwork.drawing import Drawing, Finding, Shape, SortOptions
from core.geometry.chaining import Chains, chain
from core.geometry.ends import closed_subpaths
from core.geometry.engine import enclosed
from core.geometry.flattening import flatten
from core.geometry.overlaps import SAME_LINE_MM, Covered, covered_stretches
from core.geometry.path import Path, joined
from core.geometry.rings import Rings

JOIN_MM = 0.5
"""Ends that miss each other by less were meant to meet."""
MAX_FINDINGS = 100
_FLATNESS_MM = 0.01


def thin_lines(drawing: Drawing) -> list[int]:
    """Indices of shapes that are lines: a thin stroke, no fill."""
    limit_mm = SortOptions().line_width_mm
    return [
        i
        for i, shape in enumerate(drawing.shapes)
        if shape.fill is None
        and shape.area is None
        and shape.stroke is not None
        and shape.stroke.width_mm <= limit_mm
        and len(shape.path)
    ]


def capped(findings: list[Finding], code: str, more: str) -> list[Finding]:
    """At most ``MAX_FINDINGS``, and one that counts the rest; ``more`` says what "n more" are."""
    rest = len(findings) - MAX_FINDINGS
    if rest <= 0:
        return findings
    last = findings[MAX_FINDINGS]
    summary = Finding(code=code, message=f"{rest} more {more}.", severity=last.severity, repair=last.repair)
    return [*findings[:MAX_FINDINGS], summary]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OpenLines:
    """Open thin lines and what chaining their ends makes of them.

    path: all their subpaths; shape: index of the shape of each subpath; chains: see ``chaining``.
    """

    path: Path
    shape: NDArray[np.intp]
    chains: Chains


def open_lines(drawing: Drawing) -> OpenLines:
    """Shapes whose subpaths are all open, their ends chained across ``JOIN_MM`` within one look."""
    looks: dict[object, int] = {}
    paths: list[Path] = []
    shapes: list[int] = []
    groups: list[int] = []
    for i in thin_lines(drawing):
        shape = drawing.shapes[i]
        if shape.clip is not None or shape.is_dashed or closed_subpaths(shape.path).any():
            continue
        paths.append(shape.path)
        shapes += [i] * len(shape.path.starts)
        groups += [looks.setdefault(shape.look, len(looks))] * len(shape.path.starts)
    path = joined(paths)
    return OpenLines(
        path=path,
        shape=np.array(shapes, np.intp),
        chains=chain(path, np.array(groups, np.intp), tolerance_mm=JOIN_MM),
    )


def end_findings(drawing: Drawing) -> list[Finding]:
    """Open lines that would close, or whose ends nearly meet."""
    lines = open_lines(drawing)
    findings = []
    chains = lines.chains
    for number in range(len(chains.path.starts)):
        members = chains.members[chains.member_starts[number] : chains.member_starts[number + 1]]
        closes = bool(chains.path.closed[number])
        if len(members) == 1 and not closes:
            continue
        gap_mm, x_mm, y_mm = _widest_gap(lines.path, members, closes)
        ids = tuple(dict.fromkeys(drawing.shapes[i].id for i in lines.shape[members]))
        if gap_mm > SAME_LINE_MM:
            what = "An outline stays open" if closes else "A line is broken"
            message = f"{what}: its ends miss each other by {gap_mm:.2f} mm."
            code = "open-ends"
        elif closes and len(members) > 1:
            message = f"{len(members)} loose lines meet end to end and would make one closed outline."
            code = "loose-lines"
        else:
            continue
        findings.append(Finding(code=code, message=message, x_mm=x_mm, y_mm=y_mm, shape_ids=ids, repair="join-ends"))
    return capped(findings, "open-ends", "lines have ends that nearly meet")


def _widest_gap(path: Path, members: NDArray[np.intp], closes: bool) -> tuple[float, float, float]:
    """The widest gap between ends that the chain joins, and its place: (mm, x, y)."""
    ends = np.concatenate([path.start_points[path.starts[members]], path.end_points[path.stops[members] - 1]])
    far = np.hypot(*(ends[:, None] - ends[None]).transpose(2, 0, 1))
    np.fill_diagonal(far, np.inf)
    if len(members) == 1:
        far[:] = np.hypot(*(ends[0] - ends[1]))
    nearest = far.min(axis=1)
    nearest[nearest > JOIN_MM] = 0.0  # the loose ends of an open chain
    worst = int(nearest.argmax())
    middle = (ends[worst] + ends[int(far[worst].argmin())]) / 2 if len(members) > 1 else ends.mean(axis=0)
    return float(nearest[worst]), float(middle[0]), float(middle[1])


def doubled(drawing: Drawing) -> tuple[list[int], Covered]:
    """Thin lines (indices of shapes) and where they run along earlier ones; paths are counted in that list."""
    lines = thin_lines(drawing)
    return lines, covered_stretches([drawing.shapes[i].path for i in lines])


def overlap_findings(drawing: Drawing) -> list[Finding]:
    """Lines drawn twice, overlapping in part, or shared by two closed neighbours."""
    lines, covered = doubled(drawing)
    by_pair: dict[tuple[int, int], list[int]] = {}
    for number, (path, by) in enumerate(zip(covered.path.tolist(), covered.by.tolist(), strict=True)):
        by_pair.setdefault((path, by), []).append(number)
    whole = set(wholly_covered(drawing, lines, covered))
    findings: list[Finding] = []
    for (path, by), numbers in by_pair.items():
        shape, other = drawing.shapes[lines[path]], drawing.shapes[lines[by]]
        longest = max(numbers, key=lambda n: float(covered.length_mm[n]))
        length_mm = float(covered.length_mm[numbers].sum())
        code, message, repair = _overlap_words(shape, other, length_mm, whole=lines[path] in whole)
        findings.append(
            Finding(
                code=code,
                message=message,
                severity="note" if code == "shared-lines" else "warning",
                x_mm=float(covered.x_mm[longest]),
                y_mm=float(covered.y_mm[longest]),
                shape_ids=(shape.id,) if shape is other else (shape.id, other.id),
                repair=repair,
            )
        )
    return capped(findings, "doubled-lines", "lines lie on other lines")


def wholly_covered(drawing: Drawing, lines: Sequence[int], covered: Covered) -> list[int]:
    """Indices of shapes that lie on others with all their length."""
    result = []
    order = np.argsort(covered.path, kind="stable")
    paths, begin = np.unique(covered.path[order], return_index=True)
    for path, own in zip(paths.tolist(), np.split(order, begin)[1:], strict=True):
        others = covered.by[own] != path
        segments = set(covered.segment[own][others & (covered.t0[own] <= 0) & (covered.t1[own] >= 1)].tolist())
        if len(segments) == len(drawing.shapes[lines[path]].path):
            result.append(lines[path])
    return result


def _overlap_words(shape: Shape, other: Shape, length_mm: float, *, whole: bool) -> tuple[str, str, str | None]:
    if whole:
        return "doubled-lines", f"A line of {length_mm:.1f} mm is drawn twice.", "drop-doubled-lines"
    if shape is other:
        return "overlapping-lines", f"A line runs back over itself for {length_mm:.1f} mm.", None
    if closed_subpaths(shape.path).all() and closed_subpaths(other.path).all():
        return "shared-lines", f"Two outlines share {length_mm:.1f} mm of line; it is burned once.", None
    trimmed = "trim-overlapping-lines" if not closed_subpaths(shape.path).any() else None
    return "overlapping-lines", f"Two lines lie on each other for {length_mm:.1f} mm.", trimmed


def outline_findings(drawing: Drawing, *, kerf_mm: float) -> list[Finding]:
    """Closed thin outlines that cross themselves, or are too small for the cut to leave anything of them."""
    shapes = [i for i in thin_lines(drawing) if closed_subpaths(drawing.shapes[i].path).all()]
    if not shapes:
        return []
    crossing = [finding for i in shapes if (finding := _crossing(drawing.shapes[i])) is not None]
    small = [
        Finding(
            code="hole-too-small",
            message=f"A closed outline is nowhere wider than the cut ({kerf_mm:g} mm): nothing would be left of it.",
            x_mm=float(np.mean(shapely.bounds(outline)[[0, 2]])),
            y_mm=float(np.mean(shapely.bounds(outline)[[1, 3]])),
            shape_ids=(drawing.shapes[i].id,),
            repair=f"drop-small-holes:{kerf_mm:g}",
        )
        for i, outline in small_outlines(drawing, kerf_mm)
    ]
    return [
        *capped(crossing, "crosses-itself", "outlines cross themselves"),
        *capped(small, "hole-too-small", "outlines are too small to cut"),
    ]


def crosses_itself(shape: Shape) -> tuple[float, float] | None:
    """Where a closed outline crosses or touches itself, if it does."""
    for part in flatten(shape.path, _FLATNESS_MM).parts():
        if len(part) < 4 or shapely.is_simple(shapely.linearrings(part)):
            continue
        place = re.search(r"\[(\S+) (\S+)\]", str(shapely.is_valid_reason(shapely.Polygon(part))))
        return (float(place[1]), float(place[2])) if place else (float(part[0, 0]), float(part[0, 1]))
    return None


def _crossing(shape: Shape) -> Finding | None:
    place = crosses_itself(shape)
    if place is None:
        return None
    return Finding(
        code="crosses-itself",
        message="A closed outline crosses or touches itself: cut, it would fall into pieces.",
        x_mm=place[0],
        y_mm=place[1],
        shape_ids=(shape.id,),
        repair="untangle-outlines",
    )


def small_outlines(drawing: Drawing, kerf_mm: float) -> list[tuple[int, shapely.Polygon]]:
    """(shape index, region) of closed thin outlines that a disc of the kerf does not fit into."""
    shapes = [i for i in thin_lines(drawing) if closed_subpaths(drawing.shapes[i].path).all()]
    if not shapes or kerf_mm <= 0:
        return []
    paths = [drawing.shapes[i].path for i in shapes]
    lines = flatten(joined(paths), _FLATNESS_MM)
    group = np.repeat(np.arange(len(shapes)), [len(path.starts) for path in paths])
    rings = Rings(points=lines.points, starts=lines.starts, group=group)
    regions = enclosed(rings, "evenodd", group_count=len(shapes))
    return [
        (shapes[number], regions[number])
        for number in too_thin(regions, kerf_mm).tolist()
        if not regions[number].is_empty
    ]


def too_thin(regions: NDArray[np.object_], width_mm: float) -> NDArray[np.intp]:
    """Indices of regions into which a disc of that diameter does not fit anywhere."""
    radius_mm = width_mm / 2
    parts, of = shapely.get_parts(regions, return_index=True)
    holes = np.bincount(of, shapely.get_num_interior_rings(parts), len(regions))
    # no larger than what lies within a radius of its outline: a bound on inner parallel sets, from memory (B. Sz.-Nagy,
    # 1959), not looked up; what is not larger is offset, and a test holds both against each other
    within_reach = radius_mm * shapely.length(regions) + np.pi * radius_mm**2 * holes
    maybe = np.flatnonzero(shapely.area(regions) <= 1.001 * within_reach)
    if not len(maybe):
        return maybe.astype(np.intp)
    left = shapely.buffer(regions[maybe], -width_mm / 2, quad_segs=8)
    return maybe[shapely.is_empty(left)].astype(np.intp)
