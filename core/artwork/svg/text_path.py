"""The line under a textPath (SVG 2, 11.8.2)."""

import math
from dataclasses import dataclass

import numpy as np

from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.outlines import BASIC_SHAPES
from core.artwork.svg.transforms import transform_of
from core.artwork.svg.values import length_px
from core.artwork.svg.workbench import Workbench
from core.geometry.affine import Affine, compose, rotation, translation
from core.geometry.flattening import flatten
from core.geometry.path import Floats

_FINENESS = 2e-7
"""Flattening beside the path's size: letters are turned by the directions of its pieces."""


@dataclass(slots=True, kw_only=True)
class PathLine:
    """Points along a path (all its subpaths, one after the other), how far each is from the start, user units."""

    points: Floats
    reach: Floats
    start: float

    @staticmethod
    def of(bench: Workbench, node: Node, here: Context) -> "PathLine | None":
        """The line of a textPath element; None where there is none."""
        target = bench.referenced(node)
        if target is None or target.tag not in BASIC_SHAPES:
            return None
        style = bench.styles.standing(target)
        path = bench.outlines.path(target, style, here.viewport, lambda code, what: None)
        if not len(path):
            return None
        own = transform_of(bench, target, bench.styles.transform_text(target), style, (0.0, 0.0, *here.viewport))
        path = path if own is None else path.transformed(own)
        bench.budget.spend(len(path))
        size = float(np.abs(path.segments[:, :6]).max()) or 1.0
        lines = flatten(path, size * _FINENESS)
        points, legs = lines.points, np.hypot(*np.diff(lines.points, axis=0).T)
        legs[lines.starts[1:-1] - 1] = 0.0  # from one subpath to the next
        reach = np.concatenate([[0.0], np.cumsum(legs)])
        if reach[-1] <= 0:
            return None
        length = float(reach[-1])
        text = node.attributes.get("startOffset", "0")
        scale = 1.0
        declared = length_px(target.attributes.get("pathLength"), percent_of=0.0, font_size_px=style.font_size_px)
        if declared and not text.strip().endswith("%"):
            scale = length / declared
        start = (length_px(text, percent_of=length, font_size_px=here.style.font_size_px) or 0.0) * scale
        return PathLine(points=points, reach=reach, start=start)

    def place(self, along: float) -> Affine | None:
        """The frame at a distance from the start of the path, x along it; None beyond its ends."""
        if not 0 <= along <= self.reach[-1]:
            return None
        i = min(int(np.searchsorted(self.reach, along, side="right")) - 1, len(self.points) - 2)
        while i > 0 and self.reach[i + 1] == self.reach[i]:
            i -= 1
        leg = self.reach[i + 1] - self.reach[i]
        share = (along - self.reach[i]) / leg if leg > 0 else 0.0
        way = self.points[i + 1] - self.points[i]
        point = self.points[i] + way * share
        return compose(
            translation(float(point[0]), float(point[1])), rotation(math.degrees(math.atan2(way[1], way[0])))
        )
