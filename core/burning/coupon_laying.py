"""Patches of a coupon laid out with their captions within its size, or the least size that would do."""

import math
from dataclasses import replace

from core.burning.coupon import (
    COMB_MM,
    COMBS,
    LEAST_PATCH_MM,
    LINES_EACH,
    MOST_PATCH_MM,
    SQUARE_MM,
    STRIPS_MM,
    CouponKind,
    Table,
)
from core.burning.patches import Label, Patch
from core.burning.score_letters import text_width_mm

MARGIN_MM = 2.5

GAP_MM = 2.0
TEXT_MM, LEAST_TEXT_MM = 2.2, 1.4


def laid_out(
    kind: CouponKind, table: Table, title: str, width_mm: float, height_mm: float
) -> tuple[tuple[Patch, ...], tuple[Label, ...]] | None:
    """Patches and labels in the size given, or None when they do not fit. Long single rows are wrapped."""
    best: tuple[float, Table] | None = None
    for wrapped in _wrappings(table):
        width, height = _patch_size(wrapped, width_mm, height_mm)
        least_width, least_height = _least_patch(kind, wrapped)
        if width < least_width or height < least_height:
            continue
        roominess = min(min(width, MOST_PATCH_MM) / least_width, min(height, MOST_PATCH_MM) / least_height)
        if best is None or roominess > best[0]:
            best = (roominess, wrapped)
    if best is None:
        return None
    rows = best[1]
    most = STRIPS_MM[0] if kind == "kerf-strips" else COMB_MM if kind in COMBS else MOST_PATCH_MM
    cell, height = (min(side, most) for side in _patch_size(rows, width_mm, height_mm))
    width = cell
    if kind == "cut-ladder":
        width = height = min(cell, height, SQUARE_MM)
    if kind == "kerf-strips":
        width, height = min(cell, STRIPS_MM[0]), min(height, STRIPS_MM[1])
    if kind in COMBS:
        height = LEAST_PATCH_MM[kind][1]
    if kind in ("line-widths", "focus-ladder"):
        height = _lines_height(rows[0][0], height)
    return _placed(rows, _title(title, width_mm), cell, width, height)


def _wrappings(table: Table) -> list[Table]:
    """The table itself, or, for a single row, the row broken into 1, 2, 3 ... lines."""
    if len(table) > 1:
        return [table]
    row = table[0]
    return [
        [row[k : k + columns] for k in range(0, len(row), columns)]
        for columns in sorted({math.ceil(len(row) / lines) for lines in range(1, len(row) + 1)}, reverse=True)
    ]


def _header_height_mm() -> float:
    return TEXT_MM + GAP_MM


def _caption_height_mm() -> float:
    return TEXT_MM + 0.6


def _patch_size(rows: Table, width_mm: float, height_mm: float) -> tuple[float, float]:
    columns = max(map(len, rows))
    width = (width_mm - 2 * MARGIN_MM - (columns - 1) * GAP_MM) / columns
    height = (height_mm - 2 * MARGIN_MM - _header_height_mm() - (len(rows) - 1) * GAP_MM) / len(rows)
    return width, height - _caption_height_mm()


def _least_patch(kind: CouponKind, rows: Table) -> tuple[float, float]:
    """Least patch size: what the eye needs, and room for the captions at their least height."""
    captions = [_caption(r, c, patch) for r, row in enumerate(rows) for c, patch in enumerate(row)]
    widest = max(text_width_mm(caption, height_mm=LEAST_TEXT_MM) for caption in captions)
    return max(LEAST_PATCH_MM[kind][0], widest), LEAST_PATCH_MM[kind][1]


def least_size(kind: CouponKind, table: Table, title: str) -> tuple[float, float]:
    """About the smallest size that holds the plainest coupon, as square as may be."""
    sizes = []
    for rows in _wrappings(table):
        width, height = _least_patch(kind, rows)
        columns = max(map(len, rows))
        need_width = 2 * MARGIN_MM + columns * width + (columns - 1) * GAP_MM
        need_height = (
            2 * MARGIN_MM + _header_height_mm() + len(rows) * (height + _caption_height_mm() + GAP_MM) - GAP_MM
        )
        sizes.append((math.ceil(need_width), math.ceil(need_height)))
    return min(sizes, key=max)


def _lines_height(patch: Patch, height: float) -> float:
    """Whole lines only, so that the rows fall where they are meant to."""
    return min(LINES_EACH, math.floor(height / patch.recipe.pitch_mm)) * patch.recipe.pitch_mm


def _caption(row: int, column: int, patch: Patch) -> str:
    return f"{_label(row, column)} {patch.caption}"


def _label(row: int, column: int) -> str:
    return f"{'ABCDEFGHJKLMNPQRSTUVWXYZ'[row]}{column + 1}"


def _title(words: str, width_mm: float) -> Label:
    """The head line as tall as it may be; words fall away from its end where it would get too small."""
    room = width_mm - 2 * MARGIN_MM
    while words and text_width_mm(f"WWWWW {words}", height_mm=LEAST_TEXT_MM) > room:
        words = words.rpartition(" ")[0]
    head_mm = min(TEXT_MM, TEXT_MM * room / text_width_mm(f"WWWWW {words}", height_mm=TEXT_MM))
    return Label(text=words, x_mm=MARGIN_MM, y_mm=MARGIN_MM, height_mm=head_mm)


def _placed(
    rows: Table, title: Label, cell: float, width: float, height: float
) -> tuple[tuple[Patch, ...], tuple[Label, ...]]:
    captions = [_caption(r, c, patch) for r, row in enumerate(rows) for c, patch in enumerate(row)]
    text_mm = min(TEXT_MM, *(TEXT_MM * cell / text_width_mm(caption, height_mm=TEXT_MM) for caption in captions))
    labels = [title]
    patches = []
    for r, row in enumerate(rows):
        y = MARGIN_MM + _header_height_mm() + r * (height + _caption_height_mm() + GAP_MM)
        for c, patch in enumerate(row):
            x = MARGIN_MM + c * (cell + GAP_MM)
            patches.append(replace(patch, label=_label(r, c), x_mm=x, y_mm=y, width_mm=width, height_mm=height))
            labels.append(Label(text=_caption(r, c, patch), x_mm=x, y_mm=y + height + 0.6, height_mm=text_mm))
    return tuple(patches), tuple(labels)
