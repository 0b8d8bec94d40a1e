"""A picture as it came and as it is taken: its colours beside what is bared, or the outlines that were traced."""

from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtGui import QColor, QImage, QPainter, QTransform
from PySide6.QtWidgets import QWidget

from app.canvas.regions import region_path
from app.dialogs.pictures import BeforeAndAfter, Side
from app.qt.captions import filled
from app.session.session import Session
from app.widgets import messages
from core.artwork.painting import drawing_regions
from core.artwork.picture_decisions import BARED_LOOKS
from core.artwork.picture_kinds import is_picture
from core.burning.loupe import COAT_FROM_FRONT
from core.errors import TainError
from core.job.screen_costs import screen_costs
from core.job.timing import range_text

if TYPE_CHECKING:
    from core.job.plan import Plan

_ACROSS_PX = 2400


def compare_picture(parent: QWidget, session: Session) -> None:
    """Show the job's picture as it came and as it is taken; pictures inside SVG and PDF are seen on the faces only."""
    job, plan = session.job, session.plan
    if job.source is None or plan is None:
        return
    if not is_picture(job.source.data[:32]):
        messages.tell(parent, "Before and after", "This picture lies inside the artwork: see it on the faces.")
        return
    try:
        before, after = before_and_after(job.source.data, plan)
    except TainError as error:
        messages.tell(parent, "Before and after", error.message, hint=error.hint)
        return
    shown = BeforeAndAfter(parent, before, after, plan.drawing.width_mm)
    messages.run(shown)
    shown.deleteLater()


def before_and_after(data: bytes, plan: "Plan") -> tuple[Side, Side]:
    """Both sides, of the cropped part, for a job whose artwork is a picture. Raises UnreadableError."""
    from core.artwork.pictures.opening import open_picture
    from core.artwork.pictures.tones import crop_px

    picture = open_picture(data)
    left, top, right, bottom = crop_px(picture, plan.job.reading.picture.tones)
    rgb = picture.rgb[top:bottom, left:right]
    if picture.alpha is not None:
        alpha = picture.alpha[top:bottom, left:right, None]
        rgb = np.rint(rgb * alpha + 255 * (1 - alpha)).astype(np.uint8)
    size = f"{plan.drawing.width_mm:.1f} x {plan.drawing.height_mm:.1f} mm"
    told = filled(
        "{right:,} x {bottom:,} pixels, {size}, {data:.2f} MB.",
        right=right - left,
        bottom=bottom - top,
        size=size,
        data=len(data) / 1000000.0,
    )
    costs = [one for layer in plan.layers if (one := screen_costs(plan.job, layer)) is not None]
    if costs:
        told += f" {costs[0].before_words}."
        after = Side(caption="As it will look", image=_screened(plan), told=f"{costs[0].after_words}.")
    else:
        outlines = sum(len(shape.path.starts) for shape in plan.drawing.shapes)
        told_after = f"{outlines:,} outlines, {range_text(plan.time_range)} to burn."
        after = Side(caption="As it is traced", image=_traced(plan), told=told_after)
    return Side(caption="As it came", image=_image(rgb), told=told), after


def _image(rgb: np.ndarray) -> QImage:
    values = np.ascontiguousarray(rgb, np.uint8)
    height, width, _ = values.shape
    return QImage(values.data, width, height, 3 * width, QImage.Format.Format_RGB888).copy()


def _blank(plan: "Plan", colour: QColor) -> tuple[QImage, float]:
    """An image of the drawing's page, and its pixels a mm."""
    scale = _ACROSS_PX / plan.drawing.width_mm
    image = QImage(_ACROSS_PX, max(1, round(scale * plan.drawing.height_mm)), QImage.Format.Format_RGB32)
    image.fill(colour)
    return image, scale


def _traced(plan: "Plan") -> QImage:
    """The outlines filled in their colours, in the drawing's order."""
    image, scale = _blank(plan, QColor("white"))
    with QPainter(image) as painter:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(scale, scale)
        for shape, region in zip(plan.drawing.shapes, drawing_regions(plan.drawing), strict=True):
            painter.fillPath(region_path(region), QColor(shape.fill or "#000000"))
    return image


def _screened(plan: "Plan") -> QImage:
    """Coat, and what shows where it is bared, as much of each place as the rows bare."""
    image, scale = _blank(plan, QColor(*COAT_FROM_FRONT))
    bared = QColor(BARED_LOOKS[plan.job.reading.picture.bared_is or "dark"])
    with QPainter(image) as painter:
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        for layer in plan.layers:
            for shown in () if layer.screen is None else layer.screen.shown[:1]:
                height, width = shown.shares.shape
                pixels = np.zeros((height, width, 4), np.uint8)
                pixels[..., :3] = (bared.blue(), bared.green(), bared.red())
                pixels[..., 3] = shown.shares
                tones = QImage(pixels.data, width, height, 4 * width, QImage.Format.Format_ARGB32)
                painter.setTransform(QTransform(*shown.to_drawing) * QTransform.fromScale(scale, scale))
                painter.drawImage(0, 0, tones.convertToFormat(QImage.Format.Format_ARGB32_Premultiplied))
    return image
