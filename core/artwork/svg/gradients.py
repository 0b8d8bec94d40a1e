"""Linear and radial gradients (SVG 2, 14.2), as far as their opacity says where paint counts as painted."""

import itertools
import math
from dataclasses import dataclass
from typing import cast

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.svg.colours import BLACK, Rgba, parse_colour
from core.artwork.svg.compositing import area_above
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import NOTHING, PAINTED_FROM, Bounds, Ink, areas
from core.artwork.svg.limits import MAX_STOPS
from core.artwork.svg.references import chain_of, inherited, server_transform
from core.artwork.svg.values import diagonal, length_px, opacity_value, split_length
from core.artwork.svg.workbench import Workbench
from core.geometry.affine import IDENTITY, Affine, apply, apply_to_region, compose, determinant, inverse
from core.geometry.path import Floats

_MAX_PERIODS = 200
_CIRCLE_POINTS = 256
_BANDS = 16
_SAMPLES = 240
"""Samples along a side where a gradient has no simple outline."""

Stops = tuple[tuple[float, Rgba], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gradient:
    """A gradient in a space of its own, where t runs from 0 to 1: along x for a linear one; for a radial one from the
    circle about ``focus`` with radius ``focus_radius`` to the unit circle about the origin."""

    linear: bool
    to_mm: Affine
    stops: Stops
    spread: str
    focus: tuple[float, float] = (0.0, 0.0)
    focus_radius: float = 0.0

    @property
    def least_alpha(self) -> float:
        """Alpha of the most transparent stop; nothing beside a cone."""
        return 0.0 if self._is_cone else min(colour[3] for _, colour in self.stops)

    @property
    def most_alpha(self) -> float:
        """Alpha of the most opaque stop."""
        return max(colour[3] for _, colour in self.stops)

    def colour_at(self, t: float) -> Rgba:
        """The colour at 0 <= t <= 1."""
        stops = self.stops
        if t <= stops[0][0]:
            return stops[0][1]
        for (t0, colour0), (t1, colour1) in itertools.pairwise(stops):
            if t <= t1:
                share = (t - t0) / (t1 - t0) if t1 > t0 else 1.0
                red, green, blue, alpha = (a + (b - a) * share for a, b in zip(colour0, colour1, strict=True))
                return (red, green, blue, alpha)
        return stops[-1][1]

    def region_above(self, alpha: float, bounds_mm: Bounds) -> BaseGeometry:
        """Where the gradient is more opaque than ``alpha``."""
        if self._is_cone:
            return self._sampled(alpha, bounds_mm)
        return self._region(self._intervals_above(alpha), bounds_mm)

    def alpha_at(self, points_mm: Floats) -> Floats:
        """Alpha at points (n, 2)."""
        t = self._parameter(apply(inverse(self.to_mm), points_mm))
        if self.spread == "repeat":
            t = t - np.floor(t)
        elif self.spread == "reflect":
            t = 1 - np.abs(t - 2 * np.floor(t / 2) - 1)
        offsets, alphas = zip(*((offset, colour[3]) for offset, colour in self.stops), strict=True)
        result: Floats = np.where(np.isnan(t), 0.0, np.interp(t, offsets, alphas))
        return result

    def _parameter(self, points: Floats) -> Floats:
        """t at points of the gradient's own space, nan where it has none (SVG 2, 14.2.3: the largest circle)."""
        if self.linear:
            along: Floats = points[:, 0]
            return along
        focus, growth = np.array(self.focus), 1 - self.focus_radius
        away = points - focus
        # |away + t focus| = focus_radius + t growth
        a = float(focus @ focus - growth * growth)
        half_b = away @ focus - self.focus_radius * growth
        c = (away * away).sum(axis=1) - self.focus_radius**2
        with np.errstate(divide="ignore", invalid="ignore"):
            if abs(a) < 1e-12:
                large = small = -c / (2 * half_b)
            else:
                root = np.sqrt(half_b * half_b - a * c) / abs(a)
                large, small = -half_b / a + root, -half_b / a - root
            smaller = np.where(self.focus_radius + small * growth >= 0, small, np.nan)
            result: Floats = np.where(self.focus_radius + large * growth >= 0, large, smaller)
        return result

    @property
    def _is_cone(self) -> bool:
        """Whether the circle about the focus is not inside the other: then no ring lies within the next."""
        return not self.linear and math.hypot(*self.focus) + self.focus_radius >= 1.0

    def _sampled(self, alpha: float, bounds_mm: Bounds) -> BaseGeometry:
        """Where it is more opaque than ``alpha``, from samples within the bounds."""
        x, y = (np.linspace(bounds_mm[axis], bounds_mm[axis + 2], _SAMPLES) for axis in (0, 1))
        values = self.alpha_at(np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)).reshape(_SAMPLES, _SAMPLES)
        region = area_above(values, x, y, alpha)
        return NOTHING if region is None else region

    def bands(self, bounds_mm: Bounds) -> list[tuple[BaseGeometry, Rgba]]:
        """The gradient as strips or rings of one colour."""
        if self._is_cone:
            return [(self._sampled(PAINTED_FROM, bounds_mm), self.stops[-1][1])]
        edges = sorted(
            {0.0, 1.0, *(min(max(t, 0.0), 1.0) for t, _ in self.stops), *np.linspace(0, 1, _BANDS + 1).tolist()}
        )
        result = []
        for t0, t1 in itertools.pairwise(edges):
            colour = self.colour_at((t0 + t1) / 2)
            low, high = (-math.inf if t0 == 0.0 else t0), (math.inf if t1 == 1.0 else t1)
            region = self._region([(low, high)], bounds_mm)
            if not region.is_empty:
                result.append((region, colour))
        return result

    def _intervals_above(self, alpha: float) -> list[tuple[float, float]]:
        """Spans of t in -inf..inf (beyond 0..1 as padded) where the alpha is above."""
        marks = [
            (-math.inf, self.stops[0][1][3]),
            *((t, colour[3]) for t, colour in self.stops),
            (math.inf, self.stops[-1][1][3]),
        ]
        spans: list[tuple[float, float]] = []
        for (t0, a0), (t1, a1) in itertools.pairwise(marks):
            if max(a0, a1) <= alpha or t1 <= t0:
                continue
            if min(a0, a1) > alpha or a0 == a1:
                low, high = t0, t1
            else:
                crossing = t0 + (alpha - a0) / (a1 - a0) * (t1 - t0)
                low, high = (crossing, t1) if a1 > a0 else (t0, crossing)
            if spans and spans[-1][1] == low:
                spans[-1] = (spans[-1][0], high)
            else:
                spans.append((low, high))
        return spans

    def _region(self, spans: list[tuple[float, float]], bounds_mm: Bounds) -> BaseGeometry:
        window = apply_to_region(inverse(self.to_mm), shapely.box(*bounds_mm))
        x0, y0, x1, y1 = window.bounds
        if self.spread != "pad":
            far = max(abs(x0), abs(y0), abs(x1), abs(y1)) * 2
            spans = self._repeated(
                spans, (x0, x1) if self.linear else (0.0, far / max(1e-9, 1 - math.hypot(*self.focus)))
            )
        parts: list[BaseGeometry | None] = []
        for low, high in spans:
            if self.linear:
                left, right = max(low, x0 - 1), min(high, x1 + 1)
                if left < right:
                    parts.append(shapely.box(left, y0 - 1, right, y1 + 1))
            else:
                outer = self._disc(high) if high < math.inf else shapely.box(x0 - 1, y0 - 1, x1 + 1, y1 + 1)
                inner = self._disc(low)
                parts.append(outer if inner is None or outer is None else shapely.difference(outer, inner))
        return areas(apply_to_region(self.to_mm, shapely.union_all([part for part in parts if part is not None])))

    def _repeated(self, spans: list[tuple[float, float]], reach: tuple[float, float]) -> list[tuple[float, float]]:
        inside = [(max(low, 0.0), min(high, 1.0)) for low, high in spans]
        inside = [(low, high) for low, high in inside if low < high]
        first, last = math.floor(reach[0]), math.ceil(reach[1])
        if last - first > _MAX_PERIODS:
            return spans
        result = []
        for period in range(first, last):
            for low, high in inside:
                if self.spread == "reflect" and period % 2:
                    result.append((period + 1 - high, period + 1 - low))
                else:
                    result.append((period + low, period + high))
        return result

    def _disc(self, t: float) -> BaseGeometry | None:
        """The circle on which the gradient is at t, as a disc; None where it has no size."""
        radius = self.focus_radius + t * (1 - self.focus_radius)
        if not radius > 0:
            return None
        cx, cy = self.focus[0] * (1 - t), self.focus[1] * (1 - t)
        turn = np.linspace(0, 2 * np.pi, _CIRCLE_POINTS, endpoint=False)
        return shapely.Polygon(np.column_stack([cx + radius * np.cos(turn), cy + radius * np.sin(turn)]))


def gradient_ink(bench: Workbench, node: Node, opacity: float, here: Context, bounds: Bounds) -> Ink | None:
    """The ink of a gradient on something with these bounds (user units). None: it paints nothing."""
    chain = chain_of(bench, node)
    key = ("stops", node)
    if key not in bench.cache:
        bench.cache[key] = _stops(bench, chain)
    stops = cast(Stops, bench.cache[key])
    if not stops:
        return None
    if len(stops) == 1:
        return _solid(stops[0][1], opacity)
    units = inherited(chain, "gradientUnits") or "objectBoundingBox"
    by_box = units != "userSpaceOnUse"
    frame = IDENTITY
    if by_box:
        width, height = bounds[2] - bounds[0], bounds[3] - bounds[1]
        frame = (width, 0.0, 0.0, height, bounds[0], bounds[1])
    own = server_transform(
        bench, chain, "gradientTransform", (0.0, 0.0, 1.0, 1.0) if by_box else (0.0, 0.0, *here.viewport)
    )
    if determinant(own) == 0.0:
        own = IDENTITY
    frame = compose(here.matrix, compose(frame, own))
    if determinant(frame) == 0.0 or not math.isfinite(determinant(frame)):
        return _solid(stops[-1][1], opacity)
    viewport = (1.0, 1.0) if by_box else here.viewport
    font_size = bench.styles.standing(chain[0]).font_size_px

    def number(name: str, default: str, percent_of: float, *, tag: str = "") -> float:
        text = inherited(chain, name, tag=tag)
        value = length_px(text, percent_of=percent_of, font_size_px=font_size) if text is not None else None
        return value if value is not None else length_px(default, percent_of=percent_of, font_size_px=font_size) or 0.0

    spread = inherited(chain, "spreadMethod")
    spread = spread if spread in ("reflect", "repeat") else "pad"
    if chain[0].tag == "linearGradient":
        x1, y1 = (
            number("x1", "0%", viewport[0], tag="linearGradient"),
            number("y1", "0%", viewport[1], tag="linearGradient"),
        )
        x2, y2 = (
            number("x2", "100%", viewport[0], tag="linearGradient"),
            number("y2", "0%", viewport[1], tag="linearGradient"),
        )
        dx, dy = x2 - x1, y2 - y1
        if dx * dx + dy * dy == 0.0:
            return _solid(stops[-1][1], opacity)
        gradient = Gradient(linear=True, to_mm=compose(frame, (dx, dy, -dy, dx, x1, y1)), stops=stops, spread=spread)
    else:
        r = number("r", "50%", diagonal(viewport), tag="radialGradient")
        if r <= 0.0:
            return _solid(stops[-1][1], opacity)
        cx, cy = (
            number("cx", "50%", viewport[0], tag="radialGradient"),
            number("cy", "50%", viewport[1], tag="radialGradient"),
        )
        fx, fy = (
            number("fx", str(cx), viewport[0], tag="radialGradient"),
            number("fy", str(cy), viewport[1], tag="radialGradient"),
        )
        fr = max(0.0, number("fr", "0", diagonal(viewport), tag="radialGradient"))
        focus = ((fx - cx) / r, (fy - cy) / r)
        gradient = Gradient(
            linear=False, to_mm=compose(frame, (r, 0.0, 0.0, r, cx, cy)), stops=stops, spread=spread, focus=focus,
            focus_radius=fr / r,
        )  # fmt: skip
    bench.findings.add(
        "gradient", "Gradients were read as areas painted wherever they are more than half opaque.", severity="note"
    )
    colour = max((colour for _, colour in stops), key=lambda one: one[3])
    return Ink(colour=(*colour[:3], opacity), field=gradient)


def _solid(colour: Rgba, opacity: float) -> Ink:
    return Ink(colour=(*colour[:3], colour[3] * opacity))


def _stops(bench: Workbench, chain: list[Node]) -> Stops:
    for node in chain:
        children = [child for child in node.children if child.tag == "stop"]
        if children:
            break
    else:
        return ()
    stops: list[tuple[float, Rgba]] = []
    for child in children[:MAX_STOPS]:
        style = bench.styles.standing(child)
        text = style.get("stop-color")
        colour = style.colour if text.lower() == "currentcolor" else parse_colour(text) or BLACK
        parts = split_length(child.attributes.get("offset", "0"))
        offset = 0.0 if parts is None else parts[0] / 100 if parts[1] == "%" else parts[0]
        offset = min(max(offset, stops[-1][0] if stops else 0.0), 1.0)
        stops.append((offset, (*colour[:3], colour[3] * opacity_value(style.get("stop-opacity")))))
    return tuple(stops)
