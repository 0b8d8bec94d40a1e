"""The pictures in the loupe: what is seen of an aim from both sides. Off the GUI thread."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtGui import QColor, QImage

from app.canvas.aim import LENS_PX, Aim
from core.burning.loupe import (
    BARE,
    FROSTED,
    LEFT_OVER,
    SPILL,
    UNTOUCHED,
    Classes,
    Colour,
    FillLoupe,
    Look,
    coloured,
    front_look,
)

if TYPE_CHECKING:
    from core.job.plan import Plan

CLASS_WORDS = ((BARE, "bare"), (LEFT_OVER, "left over"), (FROSTED, "frosted"), (SPILL, "spill"), (UNTOUCHED, "coat"))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """What was worked out for an aim."""

    aim: Aim
    front: QImage
    bed: QImage
    look: Look

    @property
    def shares(self) -> tuple[tuple[str, float], ...]:
        """What is seen, in a word, and how much of the picture it takes."""
        return tuple((word, float(np.mean(self.look.classes == code))) for code, word in CLASS_WORDS)


def looked(loupes: tuple[FillLoupe, ...], plan: "Plan", aim: Aim) -> Seen:
    """Both pictures of an aim."""
    half, job = aim.span_mm / 2, plan.job
    bounds = (aim.x_mm - half, aim.y_mm - half, aim.x_mm + half, aim.y_mm + half)
    look = front_look(loupes, bounds, sheet=job.sheet, turn=job.turn, shape=(LENS_PX, LENS_PX))
    flip = (slice(None), slice(None, None, -1)) if job.turn == "sideways" else (slice(None, None, -1), slice(None))
    on_bed = Look(classes=look.classes[flip], dose_j_mm2=look.dose_j_mm2[flip])
    paint = rgb(aim.paint) if aim.paint else None
    return Seen(
        aim=aim,
        front=_image(coloured(look, side="front", paint=paint)),
        bed=_image(coloured(on_bed, side="back")),
        look=look,
    )


def rgb(colour: str) -> Colour:
    """The parts of "#rrggbb", 0 to 255."""
    parts = QColor(colour)
    return parts.red(), parts.green(), parts.blue()


def _image(pixels: Classes) -> QImage:
    height, width, _ = pixels.shape
    data = np.ascontiguousarray(pixels)
    return QImage(data.data, width, height, 3 * width, QImage.Format.Format_RGB888).copy()
