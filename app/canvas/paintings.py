"""What paints the picture of each kind."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtGui import QBrush, QColor, QPainter

from app.canvas.batch import Batch
from app.canvas.gap_map import paint_gaps
from app.canvas.outlines import outlines_of_region
from app.canvas.picture import Brushwork, paint_artwork, paint_bared, paint_lines, paint_look, paint_purposes
from app.theme import patterns

if TYPE_CHECKING:
    from app.canvas.modes import PictureKind, RegionLook
    from app.canvas.scene import Scene


def painting_of(kind: "PictureKind", scene: "Scene", looks: tuple["RegionLook", ...]) -> Callable[[Brushwork], None]:
    """The function that paints a picture of this kind."""
    if kind == "artwork":
        return lambda work: paint_artwork(work, scene)
    if kind == "gaps":
        return lambda work: _paint_gaps_and_lines(work, scene)
    if kind == "paints":
        return lambda work: _paint_paints(work, scene, looks)
    if kind == "look":
        return lambda work: _paint_finished(work, scene, looks)
    return lambda work: paint_purposes(work, scene)


def _paint_gaps_and_lines(work: Brushwork, scene: "Scene") -> None:
    paint_gaps(work, scene)
    paint_lines(work, scene, cased=True)  # the coat is dim here


def _paint_paints(work: Brushwork, scene: "Scene", looks: tuple["RegionLook", ...]) -> None:
    paint_bared(work, scene)
    _paint_regions(work, scene, looks)
    paint_lines(work, scene)


def _paint_finished(work: Brushwork, scene: "Scene", looks: tuple["RegionLook", ...]) -> None:
    paint_look(work, scene, lambda: _paint_regions(work, scene, looks))


def _paint_regions(work: Brushwork, scene: "Scene", looks: tuple["RegionLook", ...]) -> None:
    """Colours over what is bared; of screened pictures each place keeps the share that is bared, film covers all."""
    screened = any(layer.tones for layer in scene.layers)
    modes = QPainter.CompositionMode
    for look in looks:
        keeps_shares = screened and look.pattern == "plain"
        work.painter.setCompositionMode(
            modes.CompositionMode_SourceAtop if keeps_shares else modes.CompositionMode_SourceOver
        )
        work.painter.setOpacity(look.opacity)
        work.fill(Batch(outlines_of_region(look.region), areas=True, mixed=True), _brush(work, look))
    work.painter.setCompositionMode(modes.CompositionMode_SourceOver)
    work.painter.setOpacity(1.0)


def _brush(work: Brushwork, look: "RegionLook") -> QBrush:
    origin, density = work.frame.origin, work.frame.density
    if look.pattern == "hatch":
        return patterns.hatch(
            look.pattern_colour, look.colour, angle_deg=look.angle_deg, origin=origin, density=density
        )
    if look.pattern == "weave":
        return patterns.weave(look.pattern_colour, look.colour, origin=origin, density=density)
    if look.pattern == "dots":
        return patterns.dots(look.pattern_colour, look.colour, origin=origin, density=density)
    return QBrush(QColor(look.colour))
