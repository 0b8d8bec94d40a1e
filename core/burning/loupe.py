"""The loupe: what the coat looks like after burning, magnified, at one place; worked out for what is seen only.

The same rules as everywhere (``coverage``, ``beam``): inside a fill coat is gone where one span in one pass clears it,
outside where all spans and passes together would; the sheet frosts where their sum reaches the frosting dose.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import scipy
from numpy.typing import NDArray

from core.burning.beam import Floats, clearing_line
from core.burning.dose import ClearingLine, span_share
from core.burning.machines import Machine
from core.burning.scan_rows import RegionEdges, ScanRows, region_edges, rows_crossed
from core.geometry.affine import apply
from core.geometry.region import BaseGeometry
from core.sheet.faces import turn_matrix
from core.sheet.placement import Sheet, Turn
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock

Bounds = tuple[float, float, float, float]
Classes = NDArray[np.uint8]
Singles = NDArray[np.float32]
Side = Literal["front", "back"]

UNTOUCHED, BARE, LEFT_OVER, FROSTED, SPILL = range(5)
"""Coat that is meant to stay and does; coat gone where it should; coat left inside a fill; sheet turned rough; coat
gone where it should have stayed."""

REACH_RADII = 2.0
"""How far from its axis a line's dose counts, in spot radii: there it has fallen to e⁻⁸ of its peak."""

Colour = tuple[int, int, int]
COAT_FROM_FRONT: Colour = (198, 203, 208)
COAT_FROM_BACK: Colour = (150, 150, 155)
SHEET: Colour = (236, 240, 242)


@dataclass(frozen=True, kw_only=True, eq=False)
class FillLoupe:
    """One fill layer made ready to be looked at: region edges and rows in the bed frame, and what its lines do.

    line: one of its lines against the coat; frosting_dose_j_mm2: of the sheet behind it. tones: the edges of screened
    pictures, whose coat is gone where a span clears it and meant to stay elsewhere; ``edges`` are then of the rest.
    """

    edges: RegionEdges
    rows: ScanRows
    line: ClearingLine
    frosting_dose_j_mm2: float
    tones: RegionEdges | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Look:
    """What is seen in a window. classes (h, w): UNTOUCHED, BARE, LEFT_OVER, FROSTED or SPILL; dose_j_mm2 (h, w)."""

    classes: Classes
    dose_j_mm2: Singles


def fill_loupe(
    region_bed: BaseGeometry,
    rows: ScanRows,
    recipe: Recipe,
    machine: Machine,
    stock: Stock,
    *,
    tones_bed: BaseGeometry | None = None,
) -> FillLoupe:
    """Make a fill ready; once for each plan. tones_bed: where pictures are screened beside what ``region_bed`` fills.

    Raises JobError on settings that mean nothing.
    """
    return FillLoupe(
        edges=region_edges(region_bed),
        rows=rows,
        line=clearing_line(recipe, machine, stock),
        frosting_dose_j_mm2=stock.frosting_dose_j_mm2,
        tones=None if tones_bed is None else region_edges(tones_bed),
    )


def look(fills: Sequence[FillLoupe], bounds_mm: Bounds, *, shape: tuple[int, int] = (240, 240)) -> Look:
    """The window (x0, y0, x1, y1) of the bed frame as (rows, columns) of square samples, taken at their middles."""
    inside, cleared, frosted, spilt, meant = (np.zeros(shape, bool) for _ in range(5))
    dose = np.zeros(shape, np.float32)
    for fill in fills:
        inside |= _inside(fill.edges, bounds_mm, shape)
        window = _window(fill, bounds_mm, shape)
        of_tones = _inside(fill.tones, bounds_mm, shape) if fill.tones is not None else None
        if of_tones is not None:
            meant |= of_tones
        if window is not None:
            own = _cleared(window, fill)
            cleared |= own
            if of_tones is not None:
                inside |= own & of_tones
            dose += _dose(window, fill)
        frosted |= dose >= fill.frosting_dose_j_mm2
        spilt |= dose >= fill.line.clearing_dose_j_mm2
    classes = np.where(inside, LEFT_OVER, UNTOUCHED).astype(np.uint8)
    classes[cleared & inside] = BARE
    classes[spilt & ~inside & ~meant] = SPILL
    classes[frosted] = FROSTED
    return Look(classes=classes, dose_j_mm2=dose)


def front_look(
    fills: Sequence[FillLoupe],
    bounds_mm: Bounds,
    *,
    sheet: Sheet,
    turn: Turn,
    shape: tuple[int, int] = (240, 240),
) -> Look:
    """The window (x0, y0, x1, y1) of the front frame, seen through the sheet."""
    x0, y0, x1, y1 = bounds_mm
    corners = apply(turn_matrix(turn, sheet), np.array([[x0, y0], [x1, y1]]))
    (left, top), (right, bottom) = corners.min(0).tolist(), corners.max(0).tolist()
    back = look(fills, (left, top, right, bottom), shape=shape)
    flip = (slice(None), slice(None, None, -1)) if turn == "sideways" else (slice(None, None, -1), slice(None))
    return Look(
        classes=np.ascontiguousarray(back.classes[flip]), dose_j_mm2=np.ascontiguousarray(back.dose_j_mm2[flip])
    )


def coloured(
    seen: Look, *, side: Side, paint: Colour | None = None, coat: Colour | None = None, sheet: Colour = SHEET
) -> Classes:
    """The look in colours, (h, w, 3) of 0..255. From the front, paint laid on the back shows where the coat is gone.

    Frosting shows through paint as a paler, uneven tone; from the back it is whitish. None leaves the sheet bare.
    """
    coat = coat or (COAT_FROM_FRONT if side == "front" else COAT_FROM_BACK)
    bare = paint if side == "front" and paint is not None else sheet
    rough = tuple(round(0.6 * part + 0.4 * 255) for part in bare)
    palette = np.array([coat, bare, coat, rough, bare], np.uint8)
    picture: Classes = palette[seen.classes]
    frosted = seen.classes == FROSTED
    if frosted.any():  # always the same grain, so that it holds still
        grain = np.random.default_rng(0).integers(-14, 15, seen.classes.shape, dtype=np.int16)[frosted]
        picture[frosted] = np.clip(picture[frosted].astype(np.int16) + grain[:, None], 0, 255).astype(np.uint8)
    return picture


# --- where the fill is ---------------------------------------------------------------------------------------------


def _inside(edges: RegionEdges, bounds_mm: Bounds, shape: tuple[int, int]) -> NDArray[np.bool_]:
    """Which samples lie inside the region: signed edge crossings summed up along each sample row."""
    x0, y0, x1, y1 = bounds_mm
    height, width = shape
    y = y0 + (np.arange(height) + 0.5) * (y1 - y0) / height
    near = (edges.y1 > y0) & (edges.y0 <= y1) & (np.minimum(edges.x0, edges.x1) < x1)
    if not near.any():
        return np.zeros(shape, bool)
    some = RegionEdges(
        x0=edges.x0[near], y0=edges.y0[near], x1=edges.x1[near], y1=edges.y1[near],
        sign=edges.sign[near], part=edges.part[near],
    )  # fmt: skip
    first, last = rows_crossed(some, y)
    counts = last - first
    edge = np.repeat(np.arange(len(counts)), counts)
    row = np.arange(len(edge)) - np.repeat(np.cumsum(counts) - counts, counts) + first[edge]
    share = (y[row] - some.y0[edge]) / (some.y1[edge] - some.y0[edge])
    x = some.x0[edge] + share * (some.x1[edge] - some.x0[edge])
    column = np.clip(np.ceil((x - x0) / (x1 - x0) * width - 0.5), 0, width).astype(np.intp)
    steps = np.bincount(row * (width + 1) + column, some.sign[edge], minlength=height * (width + 1))
    result: NDArray[np.bool_] = np.cumsum(steps.reshape(height, width + 1), axis=1)[:, :width] > 0.5
    return result


# --- what the lines do ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Window:
    """A window in the scan frame of one fill.

    row (h, w): row below each sample, counted from the first in reach, and share (h, w) of the pitch above that row;
    column (h, w): nearest point along the rows. Tables (r, m) over rows in reach and points ``step`` apart along them:
    share_alone, the greatest share of its full dose that one span of that row gives there; share_together, what all
    spans of that row give.
    """

    row: NDArray[np.intp]
    share: Singles
    column: NDArray[np.intp]
    share_alone: Floats
    share_together: Floats


def _window(fill: FillLoupe, bounds_mm: Bounds, shape: tuple[int, int]) -> _Window | None:
    """The tables of one fill for the window; None when no span comes near."""
    rows = fill.rows
    x0, y0, x1, y1 = bounds_mm
    x = x0 + (np.arange(shape[1]) + 0.5) * (x1 - x0) / shape[1]
    y = y0 + (np.arange(shape[0]) + 0.5) * (y1 - y0) / shape[0]
    a, b, c, d, _, _ = rows.from_bed
    u, v = a * x + (c * y)[:, None], b * x + (d * y)[:, None]
    reach = max(REACH_RADII * fill.line.spot_mm / 2, fill.line.cleared_width_mm / 2)
    row_a, row_b = np.searchsorted(rows.row_y_mm, [v.min() - reach, v.max() + reach])
    if row_a == row_b:
        return None
    step = (x1 - x0) / shape[1]
    beyond = math.ceil(reach / step) + 1
    first_u = float(u.min()) - beyond * step
    points = round((float(u.max()) - first_u) / step) + beyond + 1
    tables = _tables(rows, (int(row_a), int(row_b)), first_u, step, points, fill.line.spot_mm)
    if tables is None:
        return None
    place = (v - rows.row_y_mm[row_a]) / rows.pitch_mm
    row = np.floor(place).astype(np.intp)
    return _Window(
        row=row,
        share=(place - row).astype(np.float32),
        column=np.rint((u - first_u) / step).astype(np.intp),
        share_alone=tables[0],
        share_together=tables[1],
    )


def _tables(
    rows: ScanRows, row_range: tuple[int, int], first_u: float, step: float, points: int, spot_mm: float
) -> tuple[Floats, Floats] | None:
    """Greatest share by one span, and that by all, (r, m) each, of rows a <= row < b; None without spans."""
    row_a, row_b = row_range
    part = slice(rows.row_starts[row_a], rows.row_starts[row_b])
    row, x0, x1 = rows.row_index[part] - row_a, rows.x0_mm[part] - first_u, rows.x1_mm[part] - first_u
    end = points * step
    near = (x1 > -end) & (x0 < 2 * end)
    row, x0, x1 = row[near], np.maximum(x0[near], -end), np.minimum(x1[near], 2 * end)
    count = row_b - row_a
    if not len(row):
        return None
    band = 4 * end  # rows are laid end to end, far enough apart not to touch
    starts, ends = np.append(row * band + x0, np.inf), np.append(row * band + x1, -np.inf)
    place = np.arange(count)[:, None] * band + np.arange(points) * step
    after = np.searchsorted(starts, place, side="right")
    on = place < ends[after - 1]
    alone = np.zeros(place.shape)
    for span in (after - 2, after - 1, after):  # the one before, the one that has begun last, the next one
        some = np.clip(span, 0, len(row) - 1)
        inside = np.minimum(place - starts[some], ends[some] - place)
        alone[inside >= spot_mm] = 1.0
        near = np.abs(inside) < spot_mm
        share = span_share(place[near], x0_mm=starts[some[near]], x1_mm=ends[some[near]], spot_mm=spot_mm)
        alone[near] = np.maximum(alone[near], share)
    together = on.astype(np.float64)
    for ends_mm, sign in ((x0, 1.0), (x1, -1.0)):
        _soften(together, row, ends_mm, sign, step, spot_mm)
    return alone, together


def _soften(table: Floats, row: NDArray[np.intp], ends_mm: Floats, sign: float, step: float, spot_mm: float) -> None:
    """Turn the steps at spans' beginnings (sign 1) or ends (-1) in a table (r, m) into those of the beam."""
    reach = REACH_RADII * spot_mm / 2
    first = np.ceil((ends_mm - reach) / step).astype(np.intp)
    column = first[:, None] + np.arange(math.floor(2 * reach / step) + 1)
    in_table = (column >= 0) & (column < table.shape[1])
    which = np.nonzero(in_table)[0]
    away = column[in_table] * step - ends_mm[which]
    change = (1 + scipy.special.erf(2 * math.sqrt(2) / spot_mm * away)) / 2 - (away >= 0)
    flat = row[which] * table.shape[1] + column[in_table]
    table += sign * np.bincount(flat, change, minlength=table.size).reshape(table.shape)


def _cleared(window: _Window, fill: FillLoupe) -> NDArray[np.bool_]:
    """Samples where one span in one pass reaches the clearing dose."""
    half, pitch = fill.line.cleared_width_mm / 2, fill.rows.pitch_mm
    result = np.zeros(window.row.shape, bool)
    if not half:
        return result
    over = np.maximum(window.share_alone * fill.line.peak_over_clearing, 1e-30)
    half_height = np.where(over >= 1, fill.line.spot_mm / 2 * np.sqrt(np.log(np.maximum(over, 1.0)) / 2), -1.0) / pitch
    reach = math.ceil(half / pitch)
    table, at = _padded(half_height.astype(np.float32), window, reach, empty=-1.0)
    for offset in range(1 - reach, reach + 1):
        result |= np.abs(window.share - np.float32(offset)) <= table[at + offset * half_height.shape[1]]
    return result


def _dose(window: _Window, fill: FillLoupe) -> Singles:
    """Dose of all lines together: along each row the beam's profile over what is burned, across rows its sum.

    The profile across, ``exp(-2 d² p²/w²)`` at ``d`` pitches from a row, is built up from row to row by products, away
    from the sample, where no factor is over 1: its exponents' second differences are constant.
    """
    radius, pitch = fill.line.spot_mm / 2, fill.rows.pitch_mm
    table = (fill.line.peak_j_mm2 * fill.line.passes * window.share_together).astype(np.float32)
    reach = math.ceil(REACH_RADII * radius / pitch)
    padded, at = _padded(table, window, reach, empty=0.0)
    c = np.float32(-2 * (pitch / radius) ** 2)
    result = np.zeros(window.row.shape, np.float32)
    for rows, away in ((range(1, reach + 1), 1 - window.share), (range(0, -reach, -1), window.share)):
        factor, growth = np.exp(c * away**2), np.exp(c * (2 * away + 1))
        for row in rows:
            result += factor * padded[at + row * table.shape[1]]
            factor *= growth
            growth *= np.exp(2 * c)
    return result


def _padded(table: Singles, window: _Window, reach: int, *, empty: float) -> tuple[Singles, NDArray[np.intp]]:
    """The table, flat, with empty rows before and after, and where in it each sample's own row and column stand."""
    count, points = table.shape
    margin = 2 * reach + 1
    padded = np.full((count + 2 * margin, points), empty, np.float32)
    padded[margin:-margin] = table
    row = np.clip(window.row, -reach - 1, count + reach) + margin  # so far off that no row in reach is a real one
    return padded.ravel(), row * points + window.column
