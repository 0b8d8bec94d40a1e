"""The right side of the window: the page of the stage, kept open or folded away, as wide as the maker has it."""

from collections.abc import Mapping

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QApplication, QSplitter, QStackedWidget

from app.session.settings import Settings
from app.stages.page import Page
from app.stages.stage import Stage

LEAST_PX, MOST_PX = 352, 600
OF_WINDOW, USUAL_PX, MOST_BY_ITSELF_PX = 0.22, 360, 560
"""How much of the window's width it takes until the maker has it otherwise."""


class PageSide(QObject):
    """Beside the faces while there is room; in a narrow window it comes over their place like a drawer.

    opened: whether it is seen now.
    """

    opened = Signal(bool)

    def __init__(self, settings: Settings, parent: QObject) -> None:
        super().__init__(parent)
        self._pages: Mapping[Stage, Page] = {}
        self._settings = settings
        self._narrow = self._drawer_open = False
        self.stack = QStackedWidget()
        self.stack.setMinimumWidth(LEAST_PX)

    def take(self, pages: Mapping[Stage, Page]) -> None:
        """Hold these pages, which are made within ``stack``."""
        self._pages = pages

    @property
    def has_focus(self) -> bool:
        """Whether the keys are in the page."""
        focused = QApplication.focusWidget()
        return focused is not None and self.stack.isAncestorOf(focused)

    def show_page(self, stage: Stage) -> None:
        """The page of this stage."""
        self.stack.setCurrentWidget(self._pages[stage])

    def focus(self) -> None:
        """The keys go to the first field of the page, which is opened for it."""
        if not self.stack.isVisible():
            self.toggle()
        page = self.stack.currentWidget()
        assert isinstance(page, Page)
        stops = [one for one in page.tab_stops() if one.isEnabled() and one.isVisibleTo(page)]
        if stops:
            stops[0].setFocus(Qt.FocusReason.ShortcutFocusReason)

    def toggle(self) -> None:
        """Open it or fold it away."""
        if self._narrow:
            self._drawer_open = not self._drawer_open
            self.follow()
        else:
            self._settings.toggle("page_shown")

    def chosen(self, *, again: bool) -> None:
        """A stage was chosen; in a narrow window its page opens, and the same stage ``again`` folds it."""
        if self._narrow:
            self._drawer_open = not again or not self._drawer_open
        self.follow()

    def show_narrow(self, narrow: bool, *, open_drawer: bool) -> None:
        """The window is narrow, or wide again."""
        self._narrow, self._drawer_open = narrow, open_drawer
        self.follow()

    def follow(self) -> None:
        """Seen or not, as the settings or the drawer have it."""
        shown = self._drawer_open if self._narrow else self._settings.get("page_shown")
        self.stack.setVisible(shown)
        self.opened.emit(shown)

    def stand_in(self, splitter: QSplitter) -> None:
        """Be as wide as the maker draws it in this splitter, whose last part it is."""
        splitter.splitterMoved.connect(lambda: self._settings.set("page_width", self.stack.width()))

    def fit(self, splitter: QSplitter, whole_px: int) -> None:
        """As wide as the maker had it; else a share of a window this wide."""
        width = self._settings.get("page_width") or min(round(OF_WINDOW * whole_px), MOST_BY_ITSELF_PX)
        width = max(LEAST_PX, USUAL_PX if not self._settings.get("page_width") else 0, min(MOST_PX, width))
        if self.stack.width() != width:
            splitter.setSizes([whole_px - width, width])
