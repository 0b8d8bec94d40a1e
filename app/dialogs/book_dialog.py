"""A dialog that works on the shop book by the window's ``Shop``, off the GUI thread."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QDialog, QVBoxLayout, QWidget

from app.qt.captions import caption
from app.session.shop import Shop
from app.widgets import messages
from core.errors import TainError

if TYPE_CHECKING:
    from core.shop_book.store import ShopBook


class BookDialog(QDialog):
    """Gives its ``column`` to put things in, and ``do`` to work on the book; what comes in after closing is dropped."""

    def __init__(self, parent: QWidget | None, shop: Shop, title: str) -> None:
        super().__init__(parent)
        self._title, self._shop = caption(title), shop
        self.setWindowTitle(self._title)
        self._open = True  # what comes in after closing finds no widgets any more
        self.finished.connect(self._closed)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(24, 24, 24, 16)
        self.column.setSpacing(12)

    def do(
        self,
        work: "Callable[[ShopBook], Any]",
        take: Callable[[Any], None],
        *,
        failed: Callable[[TainError], None] | None = None,
        writes: bool = False,
    ) -> None:
        """Run work on the book; its result goes to ``take``, an error to ``failed`` or into a message."""

        def taken(value: Any) -> None:
            if self._open:
                take(value)

        def not_done(error: TainError) -> None:
            if self._open:
                (failed or self._tell)(error)

        self._shop.do(work, taken, not_done, writes=writes)

    def _tell(self, error: TainError) -> None:
        messages.tell_error(self, self._title, error)

    def _closed(self) -> None:
        self._open = False
