"""A chance as a bar: how many pieces in a hundred come out clean, with lines or frosted, told by pattern."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QIcon, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.theme import patterns
from app.theme.icons import icon
from app.theme.theme import theme
from app.widgets.plain_text import plain_tip
from core.burning.chance import Chance
from core.burning.headline import Headline

BAR_PX = 18
LEAST_WORD_PX = 6.0
MARK_GAP_PX = 3.0
"""Between the mark and a word beside it."""


class ChanceBar(Guarded, QWidget):
    """Shows a chance, and a mark where the chance that is wanted lies."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setAccessibleName(caption(name))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFixedHeight(BAR_PX + 2)
        self._chance: Chance | None = None
        self._wanted = 1.0

    def show_chance(self, chance: Chance | None, *, wanted: float) -> None:
        """Show this chance; none while it is not known."""
        self._chance, self._wanted = chance, wanted
        words = chance.words if chance is not None else "working out…"
        self.setAccessibleDescription(words)
        self.setToolTip(
            plain_tip(
                filled(
                    "{words}. The mark stands at the {wanted:.0f} in 100 that are wanted.",
                    words=words,
                    wanted=100 * wanted,
                )
            )
        )
        self.update()

    def sizeHint(self) -> QSize:
        """Qt: the size it would like."""
        return QSize(240, BAR_PX + 2)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        with QPainter(self) as painter:
            palette = theme().palette
            whole = QRectF(0.5, 0.5, self.width() - 1, BAR_PX)
            painter.fillRect(whole, QColor(palette.surface))
            chance = self._chance
            if chance is not None:
                self._paint_shares(painter, whole, chance)
                at = whole.left() + whole.width() * self._wanted
                painter.setPen(QPen(QColor(palette.text), 2))
                painter.drawLine(QPointF(at, whole.top() - 1), QPointF(at, whole.bottom() + 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QColor(palette.border))
            painter.drawRect(whole)

    def _paint_shares(self, painter: QPainter, whole: QRectF, chance: Chance) -> None:
        palette, left = theme().palette, whole.left()
        for share, brush, word in self._parts(chance):
            part = QRectF(left, whole.top(), whole.width() * share, whole.height())
            left += part.width()
            painter.fillRect(part, brush)
            painter.setPen(QColor(palette.border))
            painter.drawLine(part.topRight(), part.bottomRight())
            metrics = painter.fontMetrics()
            plate = QRectF(0, 0, metrics.horizontalAdvance(word) + LEAST_WORD_PX, part.height() - 2)
            room = beside_mark(part, whole.left() + whole.width() * self._wanted)
            if plate.width() < room.width():
                plate.moveCenter(room.center())
                painter.fillRect(plate, QColor(palette.surface))
                painter.setPen(QColor(palette.text))
                painter.drawText(plate, Qt.AlignmentFlag.AlignCenter, word)

    def _parts(self, chance: Chance) -> tuple[tuple[float, QBrush, str], ...]:
        palette, density = theme().palette, self.devicePixelRatioF()
        at = QPointF(0, 0)
        lines = patterns.hatch(palette.warning, None, angle_deg=0.0, origin=at, density=density)
        missed = patterns.hatch(palette.quiet, None, angle_deg=45.0, origin=at, density=density)
        rough = patterns.dots(palette.problem, None, origin=at, density=density)
        return (
            (chance.clean, QBrush(QColor(palette.accent_soft)), chance.good_word),
            (chance.leaves_lines, lines, chance.lines_word),
            (chance.frosts, rough, "frosts"),
            (chance.not_reached, missed, "not reached"),
        )


def beside_mark(part: QRectF, mark_x: float) -> QRectF:
    """The larger side of a part beside the mark, so that a word does not touch it."""
    left = min(max(mark_x - MARK_GAP_PX - part.left(), 0.0), part.width())
    right = min(max(part.right() - mark_x - MARK_GAP_PX, 0.0), part.width())
    if left >= right:
        return QRectF(part.left(), part.top(), left, part.height())
    return QRectF(part.right() - right, part.top(), right, part.height())


def headline_icon(headline: Headline) -> QIcon:
    """The sign beside a headline: done, in doubt, or in the way."""
    name, role = ("done", "done") if headline.good else ("problem", "problem")
    if headline.comes_out and not headline.good:
        name, role = "question", "warning"
    return icon(name, role)
