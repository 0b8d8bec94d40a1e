"""Help to read beside the work: the pages at the left, a search over all of them, the page at the right."""

from typing import Any

from PySide6.QtCore import QSize, Qt, QUrl
from PySide6.QtGui import QImage, QKeySequence, QShortcut, QTextCursor, QTextDocument
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFrame,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from app.help.page_texts import FOLDER, HelpPage, help_pages, search
from app.qt.captions import caption
from app.qt.guarded import Guarded
from app.theme.theme import theme, theme_changes
from app.widgets.fields import words

MARGIN_PX = 24
LIST_PX = 240
BAR_PX = 16
MOST_PICTURE_PX = 620


class HelpBrowser(Guarded, QTextBrowser):
    """A page of help with its pictures, no wider than there is room. Nothing but our own pages is ever opened."""

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName(caption("Page of help"))
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setOpenLinks(False)
        self.setOpenExternalLinks(False)
        self.document().setDocumentMargin(MARGIN_PX)
        self.page: HelpPage | None = None

    def show_page(self, page: HelpPage) -> None:
        """Show this page from its top."""
        self.page = page
        palette = theme().palette
        self.document().setDefaultStyleSheet(
            f"body {{ color: {palette.text}; }} h1 {{ font-size: 18pt; font-weight: 600; }}"
            f"h2 {{ font-size: 12pt; font-weight: 600; }} a {{ color: {palette.accent}; }}"
            "p, li { margin-bottom: 8px; line-height: 135%; } p.picture { line-height: 100%; }"
        )
        self.setHtml(f"<body>{page.markup}</body>")

    def loadResource(self, kind: int, name: QUrl | str) -> Any:
        """Qt asks for a picture of the page."""
        path = name.path() if isinstance(name, QUrl) else name
        if kind != QTextDocument.ResourceType.ImageResource.value or "/" in path:
            return None
        picture = QImage(str(FOLDER / path))
        if picture.isNull():
            return None
        wide = min(MOST_PICTURE_PX, self.viewport().width() - 2 * MARGIN_PX - BAR_PX)
        density = self.devicePixelRatioF()
        smooth = Qt.TransformationMode.SmoothTransformation
        scaled = picture.scaledToWidth(max(200, min(round(wide * density), picture.width())), smooth)
        scaled.setDevicePixelRatio(max(density, scaled.width() / wide))
        return scaled


class HelpReader(Guarded, QDialog):
    """Stays open beside the window. ``show_page(key)`` brings a page up."""

    def __init__(self, parent: QWidget | None) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Help"))
        self.setModal(False)
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 16, 16, 16)
        column.setSpacing(12)
        columns = QHBoxLayout()
        columns.setSpacing(16)
        left = QVBoxLayout()
        left.setSpacing(8)
        self.wanted = QLineEdit()
        self.wanted.setAccessibleName(caption("Search the help"))
        self.wanted.setPlaceholderText(caption("Search the help (Ctrl+F)"))
        self.wanted.setClearButtonEnabled(True)
        self.wanted.setFixedWidth(LIST_PX)
        self.wanted.textChanged.connect(self._search)
        left.addWidget(self.wanted)
        self.list = QListWidget()
        self.list.setAccessibleName(caption("Pages of help"))
        self.list.setFixedWidth(LIST_PX)
        self.list.setWordWrap(True)
        self.list.currentItemChanged.connect(lambda now, before: self._show_chosen())
        left.addWidget(self.list, 1)
        self.nothing = words("No page has all of these words.", role="quiet")
        self.nothing.hide()
        left.addWidget(self.nothing)
        columns.addLayout(left)
        self.browser = HelpBrowser()
        self.browser.anchorClicked.connect(lambda url: self.show_page(url.path().removesuffix(".html")))
        columns.addWidget(self.browser, 1)
        column.addLayout(columns, 1)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.button(QDialogButtonBox.StandardButton.Close).setText(caption("&Close"))
        buttons.rejected.connect(self.reject)
        column.addWidget(buttons)
        find = QShortcut(QKeySequence("Ctrl+F"), self)
        find.activated.connect(lambda: self.wanted.setFocus(Qt.FocusReason.ShortcutFocusReason))
        theme_changes().changed.connect(self._show_chosen)
        self.resize(QSize(960, 680).boundedTo(self.screen().availableSize() * 0.95))
        self._search()

    @property
    def page(self) -> str:
        """The key of the page that is shown."""
        return self.browser.page.key if self.browser.page is not None else ""

    def show_page(self, key: str) -> None:
        """Show the page of this key; a search is over."""
        if all(self._key_of(row) != key for row in range(self.list.count())):
            self.wanted.clear()
        for row in range(self.list.count()):
            if self._key_of(row) == key:
                self.list.setCurrentRow(row)

    def _key_of(self, row: int) -> str:
        return str(self.list.item(row).data(Qt.ItemDataRole.UserRole))

    def _search(self) -> None:
        """List the pages that hold all the words, with the first place of them."""
        before, found = self.page, search(self.wanted.text())
        self.list.blockSignals(True)
        self.list.clear()
        for one in found:
            item = QListWidgetItem(f"{one.page.title}\n{one.snippet}" if one.snippet else one.page.title)
            item.setData(Qt.ItemDataRole.UserRole, one.page.key)
            self.list.addItem(item)
        keys = [one.page.key for one in found]
        self.list.setCurrentRow(keys.index(before) if before in keys else (0 if keys else -1))
        self.list.blockSignals(False)
        self.nothing.setVisible(not found)
        self._show_chosen()

    def _show_chosen(self) -> None:
        item = self.list.currentItem()
        if item is None:
            return
        key = item.data(Qt.ItemDataRole.UserRole)
        page = next(page for page in help_pages() if page.key == key)
        self.browser.show_page(page)
        for word in self.wanted.text().split()[:1]:
            self.browser.moveCursor(QTextCursor.MoveOperation.Start)
            self.browser.find(word)
