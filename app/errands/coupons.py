"""Coupons in the window: made and opened as jobs, their sheets of looks saved, read back into the shop book."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from app.errands.files import Files
from app.session.session import Session
from app.session.settings import Settings
from app.session.shop import Shop
from app.widgets import messages
from core.atomic import write_atomically
from core.errors import TainError
from core.job.job import Job

if TYPE_CHECKING:
    from app.dialogs.coupon_reader import CouponReader
    from core.burning.coupon import Coupon
    from core.burning.next_coupon import CouponOffer
    from core.shop_book.learning import KeptReading
    from core.shop_book.store import ShopBook


class Coupons(QObject):
    """opened: a coupon that is now the job. learned: words on what the book has learned."""

    opened = Signal(object)
    learned = Signal(str)

    def __init__(self, session: Session, settings: Settings, files: Files, shop: Shop, window: QWidget) -> None:
        super().__init__(window)
        self._session, self._settings, self._files, self._shop = session, settings, files, shop
        self._window = window

    def make(self, offer: "CouponOffer | None" = None) -> None:
        """Ask what coupon, the one offered at first; keep it in the book and open it as a job."""
        from app.dialogs.coupon_maker import CouponMaker

        dialog = CouponMaker(self._window, self._session.job, inches=self._settings.inches, offer=offer)
        wanted = messages.run(dialog)
        coupon = dialog.coupon
        dialog.deleteLater()
        if wanted and coupon is not None:
            self._files.once_settled(lambda: self._open(coupon))

    def _open(self, coupon: "Coupon") -> None:
        def work(book: "ShopBook") -> Job:
            from core.job.coupon_job import coupon_job
            from core.shop_book.coupons_kept import keep_coupon

            job = coupon_job(coupon)
            keep_coupon(book, coupon)
            return job

        def take(job: Job) -> None:
            self._files.begin(job, unsaved=True, then=lambda: self.opened.emit(coupon))

        self._shop.do(work, take, self._failed("The coupon was not made"), writes=True)

    def save_looks(self, coupon: "Coupon") -> None:
        """Ask for a file and write the coupon's sheet of expected looks to it."""
        folder = Path(self._settings.get("export_folder") or self._settings.get("folder") or ".")
        path = messages.ask_target(
            self._window,
            "Save the sheet of expected looks",
            folder / f"coupon-{coupon.code}-looks.svg",
            ".svg",
            filters="SVG (*.svg)",
        )
        if path is None:
            return

        def work(book: "ShopBook") -> None:
            from core.output.looks_sheet import looks_sheet_svg

            write_atomically(path, looks_sheet_svg(coupon), overwrite=True)  # asked before

        done = f"The sheet of expected looks is in {path}."
        self._shop.do(work, lambda none: self.learned.emit(done), self._failed("The sheet was not saved"))

    def choose_looks(self) -> None:
        """Ask for one of the book's coupons, the job's own first, and save its sheet of looks."""

        def ask(coupons: tuple["Coupon", ...]) -> None:
            from app.dialogs.coupon_choice import CouponChoice

            dialog = CouponChoice(self._window, coupons)
            if messages.run(dialog):
                self.save_looks(dialog.coupon)
            dialog.deleteLater()

        self._with_coupons("The sheet of expected looks", ask)

    def read(self) -> None:
        """Ask what is seen on a coupon of the book, the job's own first; let the book learn from it."""

        def ask(coupons: tuple["Coupon", ...]) -> None:
            from app.dialogs.coupon_reader import CouponReader

            self._read_in(CouponReader(self._window, coupons, inches=self._settings.inches))

        self._with_coupons("Read a coupon", ask)

    def _read_in(self, dialog: "CouponReader") -> None:
        if messages.run(dialog):
            self._keep(dialog)
        else:
            dialog.deleteLater()

    def _with_coupons(self, title: str, ask: Callable[[tuple["Coupon", ...]], None]) -> None:
        """Hand over the book's coupons, the job's own first, then the newest; say so when there are none."""

        def take(coupons: tuple["Coupon", ...]) -> None:
            if not coupons:
                messages.tell(self._window, title, "The shop book has no coupon.", hint="Make one first.")
                return
            source = self._session.job.source
            name = source.name if source is not None else ""  # an exported coupon's name still holds its code
            ask(tuple(sorted(coupons, key=lambda one: (one.code in name, one.made), reverse=True)))

        def work(book: "ShopBook") -> tuple["Coupon", ...]:
            from core.shop_book.learning import coupons_now

            return coupons_now(book)

        self._shop.do(work, take, self._failed("No coupon can be read"))

    def _keep(self, dialog: "CouponReader") -> None:
        coupon, reading = dialog.coupon, dialog.reading

        def work(book: "ShopBook") -> "KeptReading":
            from core.shop_book.learning import keep_reading

            return keep_reading(book, coupon, reading, apply=True)

        def take(kept: "KeptReading") -> None:
            from app.words.learned_words import changed_words

            dialog.deleteLater()
            self.learned.emit(f"The reading of coupon {coupon.code} is kept. {changed_words(kept.changed)}")

        def failed(error: TainError) -> None:
            messages.tell_error(self._window, "The reading was not kept", error)
            self._read_in(dialog)  # what was typed is still there

        self._shop.do(work, take, failed, writes=True)

    def _failed(self, title: str) -> Callable[[TainError], None]:
        def tell(error: TainError) -> None:
            messages.tell_error(self._window, title, error)

        return tell
