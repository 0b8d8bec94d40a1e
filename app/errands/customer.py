"""Pages for the customer from the window's menus: proof, offer, the letterhead on both."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from app.errands.files import Files
from app.session.placing import Placing
from app.session.session import Session
from app.session.settings import Settings
from app.session.shop import Shop
from app.widgets import messages


class CustomerPages(QObject):
    """``by_key`` holds the commands by the keys of the menus. told: words on what was done."""

    told = Signal(str)

    def __init__(self, session: Session, settings: Settings, files: Files, shop: Shop, window: QWidget) -> None:
        super().__init__(window)
        self._session, self._settings, self._files, self._shop, self._window = session, settings, files, shop, window
        self._placing = Placing(self)
        self.by_key: dict[str, Callable[[], object]] = {
            "proof": self.make_proof,
            "offer": self.make_offer,
            "letterhead": self.edit_letterhead,
        }

    def make_proof(self) -> None:
        """The page that the customer signs."""
        from app.dialogs.customer_pages import ask_proof

        ask_proof(self._window, self._placing, self._shop, self._session.order, self._target("proof"))

    def make_offer(self) -> None:
        """The page with the price."""
        from app.dialogs.customer_pages import ask_offer

        session = self._session
        plan = session.plan if session.complete else None
        ask_offer(self._window, self._placing, self._shop, session.order, self._target("offer"), plan=plan)

    def edit_letterhead(self) -> None:
        """The shop's own name and address."""
        from app.dialogs.letterhead import LetterheadDialog

        dialog = LetterheadDialog(self._window, self._shop)
        if messages.run(dialog):
            self.told.emit("The shop book has the letterhead.")
        dialog.deleteLater()

    def _target(self, what: str) -> Path:
        folder = Path(self._settings.get("export_folder") or self._settings.get("folder") or ".")
        return folder / f"{self._files.stem()}-{what}.pdf"
