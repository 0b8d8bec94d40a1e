"""Marks of findings on a face: small, gathered into counts where they crowd, beside the lettering they speak of."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from app.canvas.faces_layout import Face
from app.theme.icons import pixmap
from app.theme.theme import Palette
from core.findings import Finding

if TYPE_CHECKING:
    from app.canvas.outlines import Box, Floats

PLATE_PX = 16
SIGN_PX = 12
GATHER_PX = 28
"""Places nearer than this to each other share a mark."""
DISTANCES_PX = (16, 28, 44, 66, 96, 140)
DIRECTIONS = ((0, -1), (1, -1), (-1, -1), (1, 0), (-1, 0), (0, 1), (1, 1), (-1, 1))
_RANK = {"problem": 0, "warning": 1, "note": 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingMark:
    """One mark: which findings (indices, the gravest first), where their places are, and where the plate lies, px."""

    indices: tuple[int, ...]
    foot: QPointF
    plate: QRectF
    severity: str
    span_mm: float

    @property
    def text(self) -> str:
        """The count, where there are several."""
        return str(len(self.indices)) if len(self.indices) > 1 else ""


def finding_marks(
    face: Face,
    findings: Sequence[Finding],
    lettering: Callable[[Finding], Sequence["Box"]],
    small: "Callable[[], Floats] | None" = None,
) -> tuple[FindingMark, ...]:
    """The marks of a face. ``lettering`` gives the front boxes of the filled shapes that a finding speaks of.

    small: gives the front boxes (n, 4) of filled shapes as small as letters, which no mark should lie over either; not
    asked where no finding is in sight.
    """
    area = QRectF(face.area)
    seen = [
        (index, at)
        for index, one in enumerate(findings)
        if one.x_mm is not None and one.y_mm is not None and area.contains(at := face.to_px(one.x_mm, one.y_mm))
    ]
    if not seen:
        return ()
    seen.sort(key=lambda item: (_RANK.get(findings[item[0]].severity, 3), item[0]))
    groups: list[list[tuple[int, QPointF]]] = []
    for index, at in seen:
        near = next((group for group in groups if QLineF(group[0][1], at).length() <= GATHER_PX), None)
        if near is None:
            groups.append([(index, at)])
        else:
            near.append((index, at))
    marks: list[FindingMark] = []
    letters = None if small is None else _Letters(face, small())
    for group in groups:
        indices = tuple(index for index, _ in group)
        boxes = [face.rect_px(*box) for index in indices for box in lettering(findings[index])]
        taken = [mark.plate for mark in marks]
        foot = group[0][1]
        plate = _free_plate(foot, area, boxes, taken, letters, count=len(indices))
        xs, ys = ([getattr(at, axis)() for _, at in group] for axis in ("x", "y"))
        span_mm = max(max(xs) - min(xs), max(ys) - min(ys)) / face.view.px_per_mm
        severity = findings[indices[0]].severity
        marks.append(FindingMark(indices=indices, foot=foot, plate=plate, severity=severity, span_mm=span_mm))
    return tuple(marks)


class _Letters:
    """Front boxes on a face, px: held against a plate all in one go."""

    def __init__(self, face: Face, boxes: "Floats") -> None:
        area, zero, unit = QRectF(face.area), face.to_px(0.0, 0.0), face.to_px(1.0, 1.0)
        xs = (zero.x() + boxes[:, 0::2] * (unit.x() - zero.x())).clip(area.left(), area.right())
        ys = (zero.y() + boxes[:, 1::2] * (unit.y() - zero.y())).clip(area.top(), area.bottom())
        self._left, self._right = xs.min(axis=1), xs.max(axis=1)
        self._top, self._bottom = ys.min(axis=1), ys.max(axis=1)

    def under(self, plate: QRectF) -> bool:
        """Whether a plate within the face would lie over one."""
        beside = (self._left < plate.right()) & (self._right > plate.left())
        return bool((beside & (self._top < plate.bottom()) & (self._bottom > plate.top())).any())


def _free_plate(
    foot: QPointF,
    area: QRectF,
    lettering: Sequence[QRectF],
    taken: Sequence[QRectF],
    letters: _Letters | None,
    *,
    count: int,
) -> QRectF:
    """The nearest place for a plate that covers neither lettering nor another plate; else at the head of the face.

    Where all is full of letters, those that the finding does not speak of may lie under it.
    """
    width = PLATE_PX if count == 1 else PLATE_PX + 8 * len(str(count)) + 2
    plate = QRectF(0, 0, width, PLATE_PX)
    own = (*lettering, *taken)
    for over_letters in (False, True):
        for distance in DISTANCES_PX:
            for dx, dy in DIRECTIONS:
                plate.moveCenter(foot + QPointF(dx * distance, dy * distance))
                if not area.contains(plate) or (letters is not None and not over_letters and letters.under(plate)):
                    continue
                if not any(plate.intersects(box) for box in own):
                    return QRectF(plate)
    plate.moveTopLeft(QPointF(min(max(foot.x(), area.left()), area.right() - width), area.top() + 2))
    return QRectF(plate)


def paint_finding_marks(
    painter: QPainter, marks: Sequence[FindingMark], palette: Palette, font: QFont, density: float
) -> None:
    """A dot at the place, a thin line, and a plate with the severity's own sign and the count."""
    painter.setFont(font)
    for mark in marks:
        colour = QColor(getattr(palette, mark.severity))
        painter.setPen(QPen(QColor(palette.surface), 3.0))
        painter.drawLine(QLineF(mark.foot, mark.plate.center()))
        painter.setPen(QPen(colour, 1.25))
        painter.drawLine(QLineF(mark.foot, mark.plate.center()))
        painter.setBrush(QColor(palette.surface))
        painter.drawEllipse(mark.foot, 2.5, 2.5)
        painter.drawRoundedRect(mark.plate, 4.0, 4.0)
        inset = (PLATE_PX - SIGN_PX) / 2
        sign = pixmap(mark.severity, colour.name(), SIGN_PX, density)
        painter.drawPixmap(mark.plate.topLeft() + QPointF(inset, inset), sign)
        if mark.text:
            painter.setPen(QColor(palette.text))
            room = mark.plate.adjusted(PLATE_PX - 1, 0, -3, 0)
            flags = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignHCenter
            shown = QFontMetricsF(font).elidedText(mark.text, Qt.TextElideMode.ElideNone, room.width())
            painter.drawText(room, flags, shown)
