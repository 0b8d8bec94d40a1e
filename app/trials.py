"""What a shop learns from: coupons, recipes kept, jobs done, its machines and stocks, the book carried elsewhere."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QDialog, QWidget

from app import messages
from app.coupons import Coupons
from app.dialogs.job_done import JobDoneDialog
from app.dialogs.profiles import ProfilesDialog
from app.dialogs.recipes import KeepRecipeDialog, RecipesDialog
from app.dialogs.run_time_fit import RunTimeFitDialog
from app.dialogs.shop_book import ShopBookDialog
from app.files import Files
from app.session import Session
from app.settings import Settings
from app.shop import Shop
from core.errors import TainError

if TYPE_CHECKING:
    from core.shop_book.exchange import Imported
    from core.shop_book.kinds import JobDone
    from core.shop_book.store import ShopBook

Result = TypeVar("Result")
BOOK_FILTER = "Shop book (*.json)"


class Trials(QObject):
    """``by_key`` holds the commands by the keys of the menus. told: words on what was done."""

    told = Signal(str)

    def __init__(self, session: Session, settings: Settings, files: Files, shop: Shop, window: QWidget) -> None:
        super().__init__(window)
        self._session, self._settings, self._files, self._shop = session, settings, files, shop
        self._window = window
        self.coupons = Coupons(session, settings, files, shop, window)
        self.coupons.learned.connect(self.told)
        self.by_key: dict[str, Callable[[], object]] = {
            "make coupon": self.coupons.make,
            "read coupon": self.coupons.read,
            "coupon looks": self.coupons.choose_looks,
            "keep recipe": self.keep_recipe,
            "recipes": lambda: self._run(RecipesDialog(window, shop, session, inches=settings.inches)),
            "job done": self.note_job_done,
            "calibrate": self.calibrate,
            "profiles": self.edit_profiles,
            "shop book": lambda: self._run(ShopBookDialog(window, shop, inches=settings.inches)),
            "export book": self.export_book,
            "import book": self.import_book,
        }

    # --- recipes and jobs ----------------------------------------------------------------------------------------

    def keep_recipe(self) -> None:
        """Ask which layer's recipe to keep, and under what name."""
        job = self._session.job
        dialog = KeepRecipeDialog(self._window, job)
        if not self._run(dialog):
            return
        layer, name = dialog.chosen, dialog.name.text().strip()
        verdict, note, photos = dialog.verdict.text().strip(), dialog.note.text().strip(), dialog.photo_paths

        def work(book: "ShopBook") -> None:
            from core.shop_book.recipes_kept import keep_recipe

            keep_recipe(book, job, layer, name=name, verdict=verdict, note=note, photos=photos)

        self._do("The recipe was not kept", work, lambda none: self.told.emit(f"The shop book has the recipe {name}."))

    def note_job_done(self) -> None:
        """Ask how the job ran and came out, and keep it."""
        plan = self._session.plan
        if plan is None or not self._session.complete:
            return
        dialog = JobDoneDialog(self._window, plan, name=self._files.stem())
        if not self._run(dialog):
            return
        name, done, actual_s = dialog.name.text().strip(), dialog.date.text().strip(), dialog.actual_s
        verdict, note, photos = dialog.verdict.text().strip(), dialog.note.text().strip(), dialog.photo_paths

        def work(book: "ShopBook") -> "JobDone":
            from core.shop_book.jobs_done import job_done

            value = job_done(plan, name=name, done=done, actual_s=actual_s, verdict=verdict, note=note, photos=photos)
            book.add("job", name, value, note=note)
            return value

        self._do("The job was not noted", work, lambda value: self.told.emit(f"The shop book has the job {name}."))

    def calibrate(self) -> None:
        """Show what the timed jobs tell of a machine, and let it have that."""
        machine = self._session.job.machine.name
        dialog = RunTimeFitDialog(self._window, self._shop, machine=machine, inches=self._settings.inches)
        self._run(dialog)
        if dialog.learned:
            self.told.emit(f"{dialog.learned} in the shop book has the fitted row times; choose it anew on Sheet.")

    def edit_profiles(self) -> None:
        """Machines and stocks, beginning with the job's machine."""
        name = self._session.job.machine.name
        self._run(ProfilesDialog(self._window, self._shop, inches=self._settings.inches, name=name))

    # --- carrying ------------------------------------------------------------------------------------------------

    def export_book(self) -> None:
        """Write the whole book to a file that is asked for."""
        folder = Path(self._settings.get("folder") or Path.home())
        path = messages.ask_target(
            self._window, "Export the shop book", folder / "shop-book.json", ".json", filters=BOOK_FILTER
        )
        if path is None:
            return

        def work(book: "ShopBook") -> None:
            from core.atomic import write_atomically
            from core.shop_book.exchange import exported

            write_atomically(path, exported(book), overwrite=True)  # asked before

        self._do("The shop book was not exported", work, lambda none: self.told.emit(f"The shop book is in {path}."))

    def import_book(self) -> None:
        """Merge another book's export into this one."""
        folder = self._settings.get("folder")
        path = messages.open_file(self._window, "Import into the shop book", folder=folder, filters=BOOK_FILTER)
        if path is None:
            return

        def work(book: "ShopBook") -> "Imported":
            from core.shop_book.exchange import import_file

            return import_file(book, path)

        self._do("Nothing was imported", work, lambda done: self._tell_imported(path, done))

    def _tell_imported(self, path: Path, done: "Imported") -> None:
        self.told.emit(
            f"From {path.name}: {done.added} added, {done.updated} brought up to date, {done.kept} kept as earlier "
            f"states, {done.unchanged} known already."
        )
        if done.problems:
            hint = "\n".join(done.problems[:10])
            messages.tell(self._window, "Import into the shop book", "Some entries were left out.", hint=hint)

    # --- work ----------------------------------------------------------------------------------------------------

    def _do(self, title: str, work: "Callable[[ShopBook], Result]", take: Callable[[Result], None]) -> None:
        def failed(error: TainError) -> None:
            messages.tell_error(self._window, title, error)

        self._shop.do(work, take, failed, writes=True)

    def _run(self, dialog: QDialog) -> bool:
        accepted = messages.run(dialog)
        dialog.deleteLater()
        return accepted
