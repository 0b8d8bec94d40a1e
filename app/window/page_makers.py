"""How the page of each stage is made, with its modules, when it is first opened; and each of them by its name."""

from collections.abc import Callable
from typing import TYPE_CHECKING, cast

from PySide6.QtWidgets import QStackedWidget

from app.canvas.sheet_work import SheetWork
from app.session.paint_ahead import PaintAhead
from app.session.session import Session
from app.session.settings import Settings
from app.session.shop import Shop
from app.stages.artwork import ArtworkPage
from app.stages.page import Page
from app.stages.stage import Stage
from app.window.pages import Pages

if TYPE_CHECKING:
    from app.stages.burn.page import BurnPage
    from app.stages.coverage import CoveragePage
    from app.stages.hand_over import HandOverPage
    from app.stages.paint.page import PaintPage
    from app.stages.sheet.page import SheetPage


def page_makers(
    session: Session,
    settings: Settings,
    shop: Shop,
    sheet_work: SheetWork,
    ahead: PaintAhead,
    stack: QStackedWidget,
) -> dict[Stage, Callable[[], Page]]:
    """How each page is made; the modules of a page come with it."""

    def layers_page() -> Page:
        from app.stages.layers.page import LayersPage

        return LayersPage(session, settings, shop, parent=stack)

    def sheet_page() -> Page:
        from app.stages.sheet.page import SheetPage

        return SheetPage(session, settings, shop, sheet_work, parent=stack)

    def burn_page() -> Page:
        from app.stages.burn.page import BurnPage

        return BurnPage(session, settings, shop, parent=stack)

    def coverage_page() -> Page:
        from app.stages.coverage import CoveragePage

        return CoveragePage(session, settings, parent=stack)

    def paint_page() -> Page:
        from app.stages.paint.page import PaintPage

        return PaintPage(session, settings, ahead, parent=stack)

    def hand_over_page() -> Page:
        from app.stages.hand_over import HandOverPage

        return HandOverPage(session, settings, parent=stack)

    return {
        Stage.ARTWORK: lambda: ArtworkPage(session, settings, parent=stack),
        Stage.LAYERS: layers_page,
        Stage.SHEET: sheet_page,
        Stage.BURN: burn_page,
        Stage.COVERAGE: coverage_page,
        Stage.PAINT: paint_page,
        Stage.HAND_OVER: hand_over_page,
    }


class PagesByName:
    """Mixed into what has ``pages``."""

    pages: Pages

    @property
    def artwork_page(self) -> ArtworkPage:
        """The page of the artwork."""
        return cast(ArtworkPage, self.pages[Stage.ARTWORK])

    @property
    def sheet_page(self) -> "SheetPage":
        """The page of the sheet."""
        return cast("SheetPage", self.pages[Stage.SHEET])

    @property
    def burn_page(self) -> "BurnPage":
        """The page of the recipes."""
        return cast("BurnPage", self.pages[Stage.BURN])

    @property
    def coverage_page(self) -> "CoveragePage":
        """The page of what comes off."""
        return cast("CoveragePage", self.pages[Stage.COVERAGE])

    @property
    def paint_page(self) -> "PaintPage":
        """The page of the paints."""
        return cast("PaintPage", self.pages[Stage.PAINT])

    @property
    def hand_over_page(self) -> "HandOverPage":
        """The page of what is handed over."""
        return cast("HandOverPage", self.pages[Stage.HAND_OVER])
