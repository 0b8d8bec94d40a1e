"""What a shop learns from: coupons, recipes kept, jobs done, its machines and stocks, the book carried elsewhere."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QDialog, QWidget

from app.errands.coupons import Coupons
from app.errands.files import Files
from app.qt.captions import filled
from app.session.session import Session
from app.session.settings import Settings
from app.session.shop import Shop
from app.widgets import messages
from core.atomic import write_atomically
from core.errors import TainError

if TYPE_CHECKING:
    from core.job.plan import Plan
    from core.shop_book.exchange import Imported
    from core.shop_book.store import ShopBook
    from core.shop_book.used_piece import Noted, UsedPiece

Result = TypeVar("Result")
BOOK_FILTER = "Shop book (*.json)"


class Trials(QObject):
    """``by_key`` holds the commands by the keys of the menus. told: words on what was done.

    told_with_undo: words on what was done, and a function that takes it back. wrong_wanted: the entry of the
    book, or None for the present job, that came out wrong.
    """

    told = Signal(str)
    wrong_wanted = Signal(object)
    told_with_undo = Signal(str, object)

    def __init__(self, session: Session, settings: Settings, files: Files, shop: Shop, window: QWidget) -> None:
        super().__init__(window)
        self._session, self._settings, self._files, self._shop = session, settings, files, shop
        self._window = window
        self.coupons = Coupons(session, settings, files, shop, window)
        self.coupons.learned.connect(self.told)
        self.by_key: dict[str, Callable[[], object]] = {
            "make coupon": lambda: self.coupons.make(),
            "read coupon": self.coupons.read,
            "coupon looks": self.coupons.choose_looks,
            "keep recipe": self.keep_recipe,
            "recipes": self._recipes,
            "job done": self.note_job_done,
            "cost": self.show_cost,
            "calibrate": self.calibrate,
            "profiles": self.edit_profiles,
            "rack": self.show_rack,
            "shop book": self.show_book,
            "export book": self.export_book,
            "import book": self.import_book,
        }

    def _recipes(self) -> None:
        from app.dialogs.recipes import RecipesDialog

        dialog = RecipesDialog(self._window, self._shop, self._session, inches=self._settings.inches)
        self._run(dialog)
        if dialog.wanted:
            self.by_key[dialog.wanted]()

    # --- recipes and jobs ----------------------------------------------------------------------------------------

    def keep_recipe(self) -> None:
        """Ask which layer's recipe to keep, and under what name."""
        from app.dialogs.recipes import KeepRecipeDialog

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
        """Ask how the job ran and came out, and keep it; what it left of its piece goes back on the rack."""
        plan = self._session.plan
        if plan is None or not self._session.complete:
            return
        if plan.job.piece_id:
            from core.sheet.remainders import LEAST_SIDE_MM

            self._work_out_left(plan, LEAST_SIDE_MM, lambda used: self._ask_done(plan, used))
        else:
            self._ask_done(plan, None)

    def _work_out_left(self, plan: "Plan", side_mm: float, take: Callable[["UsedPiece | None"], None]) -> None:
        from core.shop_book.used_piece import what_is_left

        def failed(error: TainError) -> None:
            messages.tell_error(self._window, "What is left", error)

        self._shop.do(lambda book: what_is_left(book, plan, least_side_mm=side_mm), take, failed)

    def _ask_done(self, plan: "Plan", used: "UsedPiece | None") -> None:
        from app.dialogs.job_done import JobDoneDialog

        dialog = JobDoneDialog(
            self._window,
            plan,
            name=self._files.stem(),
            used=used,
            work_out=lambda side_mm, take: self._work_out_left(plan, side_mm, take),
            inches=self._settings.inches,
        )
        if not self._run(dialog):
            return
        name, done, actual_s = dialog.name.text().strip(), dialog.date.text().strip(), dialog.actual_s
        verdict, note, photos = dialog.verdict.text().strip(), dialog.note.text().strip(), dialog.photo_paths
        left = dialog.left if dialog.left is not None and dialog.left.put_back.isChecked() else None
        used = left.used if left is not None else None
        labels = self._labels_folder(name) if left is not None and left.labels.isChecked() else None

        def work(book: "ShopBook") -> "Noted":
            from core.shop_book.jobs_done import job_done
            from core.shop_book.used_piece import note_done

            value = job_done(plan, name=name, done=done, actual_s=actual_s, verdict=verdict, note=note, photos=photos)
            return note_done(book, plan, name, value, used, labels)

        self._do("The job was not noted", work, lambda noted: self._tell_noted(name, noted))
        if dialog.wrong.isChecked():
            self.wrong_wanted.emit(None)

    def _labels_folder(self, name: str) -> Path | None:
        folder = Path(self._settings.get("folder") or Path.home())
        return messages.save_file(
            self._window, "A folder for the labels", path=str(folder / f"{name} labels"), filters=""
        )

    def _tell_noted(self, name: str, noted: "Noted") -> None:
        text = filled("The shop book has the job {name}.", name=name)
        if noted.offcuts:
            text += f" On the rack now: {', '.join(noted.offcuts)}."
        elif noted.piece_id:
            text += " Nothing of its piece was worth keeping."
        if noted.without_label:
            text += f" No room for a label on {', '.join(noted.without_label)}: write it on by hand."
        if noted.label_error:
            text += f" {noted.label_error}"
        self.told_with_undo.emit(text, lambda: self._undo_noted(name, noted))

    def _undo_noted(self, name: str, noted: "Noted") -> None:
        from core.shop_book.used_piece import undo_done

        what = "Its piece is back on the rack as it was." if noted.piece_id else ""
        told = f"The job {name} is not noted any more. {what}".strip()
        self._do("It was not undone", lambda book: undo_done(book, noted), lambda none: self.told.emit(told))

    def show_cost(self) -> None:
        """What the job costs, and what to quote."""
        plan = self._session.plan
        if plan is not None and self._session.complete:
            from app.dialogs.cost import CostDialog

            self._run(CostDialog(self._window, self._shop, plan, inches=self._settings.inches))

    def calibrate(self) -> None:
        """Show what the timed jobs tell of a machine, and let it have that."""
        machine = self._session.job.machine.name
        from app.dialogs.run_time_fit import RunTimeFitDialog

        dialog = RunTimeFitDialog(self._window, self._shop, machine=machine, inches=self._settings.inches)
        self._run(dialog)
        if dialog.learned:
            self.told.emit(f"{dialog.learned} in the shop book has the fitted row times; choose it anew on Sheet.")

    def edit_profiles(self) -> None:
        """Machines and stocks, beginning with the job's machine."""
        name = self._session.job.machine.name
        from app.dialogs.profiles import ProfilesDialog

        self._run(ProfilesDialog(self._window, self._shop, inches=self._settings.inches, name=name))

    def show_book(self) -> None:
        """The shop book to look through, or what is wanted from there."""
        from app.dialogs.shop_book import ShopBookDialog

        dialog = ShopBookDialog(self._window, self._shop, inches=self._settings.inches)
        self._run(dialog)
        if dialog.left_with is not None:
            self.wrong_wanted.emit(dialog.left_with)
        elif dialog.left_for:
            self.by_key[dialog.left_for]()

    def show_rack(self) -> None:
        """The pieces of sheet on the rack."""
        job = self._session.job
        from app.dialogs.rack import RackDialog
        from core.shop_book.reserving import names_of

        name = next(iter(names_of(job)), "")
        self._run(
            RackDialog(self._window, self._shop, usual=job.stock.name, job_name=name, inches=self._settings.inches)
        )

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
