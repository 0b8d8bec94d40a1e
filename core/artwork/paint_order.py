"""White paint in artwork: the paper under everything, or "keep the coat here" on top of darker paint."""

import re
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Drawing, Shape
from core.artwork.painting import drawing_regions

NEAR_WHITE = 235
"""Least red, green and blue (of 255) of a colour that passes for white."""
_PAGE_SHARE = 0.98
_SEEN_MM2 = 1e-4
_DARK = 160


@dataclass(frozen=True, slots=True, kw_only=True)
class WhitePaint:
    """Indices of shapes whose paint is near white: ``paper`` lies as large as the page under everything else,
    ``over_dark`` on darker paint, ``unseen`` on paper alone. White on nothing at all is paint like any other.
    """

    paper: frozenset[int]
    over_dark: frozenset[int]
    unseen: frozenset[int]


def white_paint(drawing: Drawing) -> WhitePaint:
    """What the near-white shapes of a drawing are."""
    shapes = drawing.shapes
    white = np.array([_is_white(shape) for shape in shapes], bool)
    if not white.any():
        return WhitePaint(paper=frozenset(), over_dark=frozenset(), unseen=frozenset())
    regions = drawing_regions(drawing)
    visible = ~shapely.is_empty(regions)
    dark = np.flatnonzero(~white & visible)
    first_dark = int(dark[0]) if len(dark) else len(shapes)
    paper = frozenset(
        i for i in np.flatnonzero(white[:first_dark] & visible[:first_dark]).tolist() if _is_page(drawing, regions[i])
    )
    over_dark = _on_top_of(regions, np.flatnonzero(white & visible), dark)
    others = set(np.flatnonzero(white & visible).tolist()) - paper - over_dark
    return WhitePaint(paper=paper, over_dark=frozenset(over_dark), unseen=frozenset(others) if paper else frozenset())


def near_white(colour: str | None) -> bool:
    """Whether a colour ("#rgb", "#rrggbb" or "white") passes for white; anything else does not."""
    if colour is None:
        return False
    text = colour.strip().lower()
    if text == "white":
        return True
    if re.fullmatch(r"#[0-9a-f]{3}", text):
        text = "#" + "".join(2 * digit for digit in text[1:])
    if not re.fullmatch(r"#[0-9a-f]{6}(?:[0-9a-f]{2})?", text):
        return False
    return min(bytes.fromhex(text[1:7])) >= NEAR_WHITE


def dark(colour: str | None) -> bool:
    """Whether a colour "#rrggbb" stands out clearly on white, by the weights of Rec. ITU-R BT.709."""
    if colour is None or not re.fullmatch(r"#[0-9a-fA-F]{6}", colour):
        return False
    red, green, blue = bytes.fromhex(colour[1:])
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue < _DARK


def _is_white(shape: Shape) -> bool:
    paints = [paint for paint in (shape.fill, shape.stroke.colour if shape.stroke else None) if paint is not None]
    return bool(paints) and all(near_white(paint) for paint in paints)


def _is_page(drawing: Drawing, region: BaseGeometry) -> bool:
    x0, y0, x1, y1 = shapely.bounds(region)
    boxed = (x1 - x0) * (y1 - y0)
    page = shapely.box(0, 0, drawing.width_mm, drawing.height_mm)
    return bool(
        shapely.area(region) >= _PAGE_SHARE * boxed
        and shapely.area(shapely.intersection(region, page)) >= _PAGE_SHARE * page.area > 0
    )


def _on_top_of(regions: NDArray[np.object_], white: NDArray[np.intp], dark: NDArray[np.intp]) -> set[int]:
    """Those of the white shapes that overlap a dark one painted before them."""
    if not len(dark):
        return set()
    tree = shapely.STRtree(regions[dark])
    which, below = tree.query(regions[white], predicate="intersects")
    which, below = white[which], dark[below]
    earlier = below < which
    result: set[int] = set()
    for top, bottom in zip(which[earlier].tolist(), below[earlier].tolist(), strict=True):
        if top not in result and shapely.area(shapely.intersection(regions[top], regions[bottom])) > _SEEN_MM2:
            result.add(top)
    return result
