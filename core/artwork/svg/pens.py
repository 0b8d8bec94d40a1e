"""Stroke properties as a Stroke (SVG 2, 13.5)."""

import math
from collections.abc import Callable
from typing import Literal, cast

from core.artwork.svg.context import Context
from core.artwork.svg.limits import MAX_DASHES
from core.artwork.svg.values import diagonal, length_px, split_length
from core.geometry.affine import mean_scale, scaling
from core.geometry.path import ARC, Path
from core.geometry.stroke import Stroke

_HAIR = 1e-9


def pen_of(here: Context, colour: str, *, root_font_size_px: float, mm_per_px: float) -> Stroke | None:
    """The pen that the style asks for; None where it has no width."""
    values, style = here.style.values, here.style

    def length(text: str) -> float | None:
        return length_px(
            text, percent_of=diagonal(here.viewport), font_size_px=style.font_size_px,
            root_font_size_px=root_font_size_px, viewport=here.viewport,
        )  # fmt: skip

    width = length(values["stroke-width"])
    width = 1.0 if width is None else width
    if width <= _HAIR:
        return None
    matrix = here.matrix
    if style.own.get("vector-effect") == "non-scaling-stroke":
        matrix = scaling(mm_per_px, mm_per_px)
    limit = split_length(values["stroke-miterlimit"])
    cap, join = values["stroke-linecap"], values["stroke-linejoin"]
    return Stroke(
        colour=colour,
        width=width,
        matrix=matrix,
        cap=cast(Literal["butt", "round", "square"], cap if cap in ("round", "square") else "butt"),
        join=cast(
            Literal["miter", "miter-clip", "round", "bevel"],
            join if join in ("miter-clip", "round", "bevel") else "miter",
        ),
        miter_limit=max(limit[0], 1.0) if limit is not None and not limit[1] else 4.0,
        dashes=_dashes(values["stroke-dasharray"], length),
        dash_offset=length(values["stroke-dashoffset"]) or 0.0,
        width_mm=width * mean_scale(matrix),
    )


def too_many_dashes(path: Path, dashes: tuple[float, ...]) -> bool:
    """Whether a path (in the dashes' own units) would fall into more dashes than are drawn."""
    if not dashes:
        return False
    rough = path.segments.copy()
    arcs = path.kinds == ARC
    rough[arcs, 0:2] = 0.0
    length = float(abs(rough[:, :8]).sum()) * 2
    if length / sum(dashes) * len(dashes) < MAX_DASHES:
        return False
    legs = path.end_points - path.start_points
    straight = float(sum(math.hypot(x, y) for x, y in legs.tolist()))
    return straight / sum(dashes) * len(dashes) > MAX_DASHES


def _dashes(text: str, length: Callable[[str], float | None]) -> tuple[float, ...]:
    if text == "none":
        return ()
    dashes = []
    for word in text.replace(",", " ").split():
        value = length(word)
        if value is None or value < 0:
            return ()
        dashes.append(value)
    if not dashes or not math.isfinite(sum(dashes)) or sum(dashes) <= 0:
        return ()
    return tuple(dashes if len(dashes) % 2 == 0 else dashes * 2)
