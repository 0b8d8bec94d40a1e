"""What a fill or stroke is painted with."""

from core.artwork.svg.bounds import tight_bounds
from core.artwork.svg.colours import Paint
from core.artwork.svg.context import Context
from core.artwork.svg.drawn import Bounds, Ink
from core.artwork.svg.gradients import gradient_ink
from core.artwork.svg.patterns import pattern_ink
from core.artwork.svg.pens import pen_of
from core.artwork.svg.references import fits_bounds
from core.artwork.svg.workbench import Workbench
from core.geometry.path import Path
from core.geometry.stroke import Stroke

_PAINT_SERVERS = frozenset({"linearGradient", "radialGradient", "pattern"})


def ink_for(
    bench: Workbench, paint: Paint, opacity: float, here: Context, path: Path, bounds: Bounds | None = None
) -> Ink | None:
    """What a paint comes to on this path, None for none."""
    if paint.context:
        return here.outer[0 if paint.context == "fill" else 1]
    if paint.server is not None:
        server = bench.document.by_id.get(paint.server[1:])
        if server is None or server.tag not in _PAINT_SERVERS:
            bench.findings.add("missing-paint", f"The paint “{paint.server[:60]}” is not in the file.")
        else:
            box = bounds or (tight_bounds(path) if len(path) else (0.0, 0.0, 0.0, 0.0))
            if not (fits_bounds(bench, server) and (box[0] >= box[2] or box[1] >= box[3])):
                make = pattern_ink if server.tag == "pattern" else gradient_ink
                ink = make(bench, server, opacity, here, box)
                if ink is not None or not paint.has_fallback:
                    return ink
    colour = here.style.colour if paint.current else paint.colour
    if colour is None:
        return None
    return Ink(colour=(*colour[:3], colour[3] * opacity))


def pen_for(bench: Workbench, here: Context, colour: str) -> Stroke | None:
    """The stroke's geometry; None where it has no width."""
    return pen_of(here, colour, root_font_size_px=bench.styles.root_font_size_px, mm_per_px=bench.mm_per_px)
