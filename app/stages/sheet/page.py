"""Sheet: the piece of stock, where the artwork lies on it, its flaws, which way the sheet is turned over."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.canvas.sheet_work import SheetWork
from app.dialogs.companions import CompanionsDialog
from app.dialogs.copies import CopiesDialog
from app.dialogs.designs import DesignsDialog
from app.dialogs.piece_choice import PieceChoiceDialog
from app.qt.captions import caption, filled
from app.session.placing import Placing, Tell
from app.session.session import Session
from app.session.settings import Settings
from app.session.shop import Shop
from app.stages.page import Page
from app.stages.sheet.flaws import FlawsCard
from app.stages.sheet.list_card import ListCard
from app.stages.sheet.offers import OffersCard
from app.stages.sheet.piece import PieceCard, that_could_serve
from app.stages.sheet.place import PlaceCard
from app.stages.sheet.turning import TurnCard
from app.stages.stage import Stage
from app.widgets import messages
from app.widgets.fields import Card, ChoiceField, small_button, words
from app.widgets.plain_text import plain_tip
from core.burning.machines import Machine
from core.errors import TainError
from core.job.copying import with_copies, without_copies
from core.job.decisions import placed_bounds_mm, sheet_to_fit, with_machine, with_stock
from core.job.fitting import place_job, with_piece, with_place
from core.job.job import Job
from core.job.laid_out import burned_at, same_question
from core.job.plan import Plan
from core.progress import Progress
from core.sheet.ground import PlacingOptions
from core.sheet.offcuts import checked_piece
from core.sheet.stock import Stock
from core.shop_book.store import book_path

if TYPE_CHECKING:
    from core.sheet.ground import Placed
    from core.sheet.offcuts import Piece
    from core.shop_book.entries import Entry
    from core.shop_book.store import ShopBook


class SheetPage(Page):
    """The piece of stock and how the artwork lies on it, all in the front frame. told: words on what was done.

    rack_wanted: the rack is to be shown. job_made(name, job): a job of its own that is to be opened.
    """

    told = Signal(str)
    rack_wanted = Signal()
    job_made = Signal(str, object)

    def __init__(self, session: Session, settings: Settings, shop: Shop, work: SheetWork, *, parent: QWidget) -> None:
        super().__init__(
            Stage.SHEET,
            "The piece of stock, and where the artwork lies on it. Drag it on a face.",
            session,
            settings,
            parent=parent,
        )
        self._shop, self._work = shop, work
        self.placing, self.hinting = Placing(self), Placing(self)
        self._hinted: tuple[Plan, PlacingOptions] | None = None
        self._entry: Entry | None = None
        self._entry_asked = ""
        self._rack: tuple[tuple[str, str, Piece], ...] = ()
        self._rack_asked_for: str | None = None
        shop.changed.connect(self.touch)
        session.order_changed.connect(self.touch)
        shop.wrote.connect(self._rack_changed)
        self.add_findings_card()
        self.piece_card = PieceCard(
            lambda change, label, merge_key: self.commit(change, label, merge_key=merge_key),
            take=self.take_piece,
            fit=lambda: self._place(sheet_to_fit, "Sheet to fit the artwork"),
        )
        self.place_card = PlaceCard(self._place, work, self.placing, find_best=self.find_best)
        self.offers_card = OffersCard(self.session.when_current, self._place, self.place_card.options)
        self.flaws_card = FlawsCard(session, settings, work, commit=self.commit, keep=self.keep_flaws)
        self.turn_card = TurnCard(self.commit, lambda: self.session.job)
        self.list_card = ListCard(self.lay_list)
        for card in (self.list_card, self._stock_card(), self.piece_card, self.place_card, self.turn_card):
            self.body.addWidget(card)
        doors = QVBoxLayout()
        doors.setSpacing(4)
        self.body.addLayout(doors)
        rooms = (
            ("Flaws of the sheet", (self.flaws_card,)),
            ("Copies, other designs, jigs", (self._more_card(),)),
            ("Places to choose from", (self.offers_card, self.place_card.search)),
        )
        for title, cards in rooms:
            room, door = self.add_room(title)
            for one in cards:
                room.body.addWidget(one)
            room.end()
            doors.addWidget(door)
        self.watch(*self.piece_card.fields.values(), self.place_card.left, self.place_card.top)
        self.watch(self.place_card.rotation, self.place_card.edge, self.flaws_card.width_field)
        self.end_body()

    # --- cards ---------------------------------------------------------------------------------------------------

    def _stock_card(self) -> Card:
        card = Card()
        self._stock = ChoiceField("Stock")
        self._stock.chosen.connect(
            lambda stock: self.commit(
                lambda: on_stock(self.session.job, stock), filled("Stock: {name}", name=stock.name)
            )
        )
        card.row("Stoc&k", self._stock, help_text="Another stock brings its own starting recipes")
        self._machine = ChoiceField("Machine")
        self._machine.chosen.connect(
            lambda machine: self.commit(
                lambda: with_machine(self.session.job, machine), filled("Machine: {name}", name=machine.name)
            )
        )
        card.row("&Machine", self._machine)
        self._refused = words(role="refusal")
        card.body.addWidget(self._refused)
        self._coat = words(role="quiet")
        card.body.addWidget(self._coat)
        return card

    def _more_card(self) -> Card:
        card = Card()
        self.copies_words = words(role="quiet")
        card.body.addWidget(self.copies_words)
        self.copies = small_button("&Copies…", "Lay copies out on this sheet")
        self.copies.clicked.connect(self.lay_copies)
        self.once = small_button("Once only", "Only one of it on this sheet")
        self.once.clicked.connect(self.take_copies_off)
        self.designs = small_button("Several designs…", tip="Other jobs beside this one")
        self.designs.clicked.connect(self.lay_designs)
        card.line(self.copies, self.designs)
        card.body.addWidget(self.once)
        self.list_of_parts = small_button("Many from a &list…", tip="Names or numbers from a list, over many sheets")
        self.list_of_parts.clicked.connect(lambda: self.lay_list())
        card.body.addWidget(self.list_of_parts)
        self.companions = small_button("Stops and backers…", tip="What is made to go with this job")
        self.companions.clicked.connect(self.make_companion)
        card.body.addWidget(self.companions)
        return card

    # --- showing -------------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show stock, piece, place, flaws and turn."""
        self.show_findings_card()
        self.show_go_on()
        job, plan = self.session.job, self.session.plan
        self._ask_entry(job)
        self._show_stock(job)
        self.list_card.show_order(self.session.order)
        has_artwork = plan is not None and bool(plan.drawing.shapes)
        self.piece_card.show_job(job, self._entry, can_take=has_artwork, can_fit=has_artwork, inches=self.inches)
        self.place_card.show_plan(job, plan, inches=self.inches)
        self.offers_card.show_plan(plan, inches=self.inches)
        count = 1 + len(job.repeats)
        self.copies_words.setText(
            filled("{count} of it on this sheet.", count=count) if job.repeats else caption("One of it on this sheet.")
        )
        self.copies.setEnabled(has_artwork)
        self.companions.setEnabled(has_artwork)
        self.designs.setEnabled(has_artwork)
        self.once.setVisible(bool(job.repeats))
        self.flaws_card.show_job(job, enabled=plan is not None, keepable=self._flaws_differ(job))
        self.turn_card.show_job(job)
        self._offer_pieces()
        self._hint_best_place()

    def _show_stock(self, job: Job) -> None:
        self._stock.offer(_offered(job.stock, self._shop.stocks))
        self._stock.show_value(job.stock)
        self._machine.offer(_offered(job.machine, self._shop.machines))
        self._machine.show_value(job.machine)
        self._refused.setText(job.stock.refused)
        self._refused.setVisible(bool(job.stock.refused))
        coat = f"Coat: {job.stock.coat}. " if job.stock.coat else "No coat. "
        cut = "" if job.stock.cut else "It must not be cut by the laser. "
        self._coat.setText(filled("{coat}{cut}Its figures: {kind}.", coat=coat, cut=cut, kind=job.stock.origin.kind))
        self._coat.setToolTip(plain_tip(job.stock.origin.note))
        self._coat.setAccessibleDescription(job.stock.origin.note)
        self._coat.setVisible(not job.stock.refused)

    # --- the rack ------------------------------------------------------------------------------------------------

    def take_piece(self, prefer: str = "") -> None:
        """Ask for a piece of the rack, the one of this id first, and put the job on it, at its best place."""
        self.session.when_current(lambda plan: self._take_piece(plan, prefer))

    def _take_piece(self, plan: Plan, prefer: str) -> None:
        dialog = PieceChoiceDialog(
            self.window(),
            self._shop,
            self.placing,
            plan,
            self.place_card.options(plan.job),
            inches=self.inches,
            prefer=prefer,
        )
        taken = messages.run(dialog)
        wanted, served = dialog.rack_wanted, dialog.chosen
        dialog.deleteLater()
        if wanted:
            self.rack_wanted.emit()
        elif taken and served is not None and served.choice.placed is not None:
            choice, placed = served.choice, served.choice.placed
            self.commit(
                lambda: with_place(with_piece(plan.job, served.piece, choice.piece_id, plan.job.stock), placed),
                filled("Onto “{name}” of the rack", name=choice.name),
            )

    def _ask_entry(self, job: Job) -> None:
        """The piece's entry in the book, once it is another piece."""
        if job.piece_id == self._entry_asked:
            return
        self._entry, self._entry_asked = None, job.piece_id
        if job.piece_id:
            piece_id = job.piece_id

            def take(entry: "Entry") -> None:
                if piece_id == self.session.job.piece_id:
                    self._entry = entry
                    self.touch()

            self._shop.do(lambda book: book.entry(piece_id), take, lambda error: None)

    def _rack_changed(self) -> None:
        self._entry_asked = ""
        self._rack_asked_for = None
        self.touch()

    def _offer_pieces(self) -> None:
        """Show pieces of the rack that the job could go on; the rack, where there is one, is read once for artwork."""
        plan = self.session.plan
        bounds = placed_bounds_mm(plan) if plan is not None else None
        job = self.session.job
        name = job.source.name if job.source is not None else ""  # pieces may be kept for a job of this name
        if name != self._rack_asked_for:
            self._rack, self._rack_asked_for = (), name
            if book_path().exists():
                self._shop.do(lambda book: _rack_pieces(book, job), self._take_rack, lambda error: None)
        if bounds is not None:
            left, top, right, bottom = bounds
            serving = that_could_serve(self._rack, self.session.job, right - left, bottom - top)
            self.piece_card.offer(serving, inches=self.inches)

    def _take_rack(self, pieces: "tuple[tuple[str, str, Piece], ...]") -> None:
        self._rack = pieces
        self.touch()

    def _flaws_differ(self, job: Job) -> bool:
        entry = self._entry
        return entry is not None and not entry.removed and entry.value.flaws != job.sheet.flaws

    def keep_flaws(self) -> None:
        """Put the flaws of the job's sheet on the piece of the rack that it is."""
        entry, flaws = self._entry, self.session.job.sheet.flaws
        if entry is None:
            return

        def work(book: "ShopBook") -> None:
            value = checked_piece(replace(book.entry(entry.uuid).value, flaws=flaws))
            book.change(entry.uuid, value, note="flaws noted on a job", based_on=entry.stamp)

        self._shop.do(
            work,
            lambda none: self.told.emit(f"“{entry.name}” on the rack has these flaws."),
            lambda error: self.say(str(error)),
            writes=True,
        )

    # --- copies --------------------------------------------------------------------------------------------------

    def lay_copies(self) -> None:
        """Ask how many, lay them out, and take the layout found, in one step of undo."""
        job = self.session.job
        options = self.place_card.options(job)
        dialog = CopiesDialog(self.window(), self.placing, job, options, inches=self.inches)
        taken, layout = messages.run(dialog), dialog.layout_found
        dialog.deleteLater()
        if taken and layout is not None:
            self.commit(lambda: with_copies(job, layout), filled("{copies} copies", copies=len(layout.copies)))

    def lay_list(self) -> None:
        """Many parts of this design from a list: the session's order."""
        from app.dialogs.list_of_parts.dialog import ListDialog

        folder = str(self.settings.get("folder") or "")
        dialog = ListDialog(self.window(), self.session, self.placing, self._shop, folder=folder, inches=self.inches)
        messages.run(dialog)
        dialog.leave()
        dialog.deleteLater()

    def take_copies_off(self) -> None:
        """Once is enough."""
        self.commit(lambda: without_copies(self.session.job), "Once only")

    def lay_designs(self) -> None:
        """Ask for other jobs, nest all on this sheet, and put this job where it then lies."""
        job = self.session.job
        name = Path(job.source.name).stem if job.source is not None else "job"
        options = self.place_card.options(job)
        dialog = DesignsDialog(self.window(), self.placing, job, options, name=name, inches=self.inches)
        taken, laid = messages.run(dialog), dialog.laid
        dialog.deleteLater()
        if taken and laid is not None:
            self.commit(lambda: laid.jobs[0], "Beside other designs")

    def make_companion(self) -> None:
        """Ask what is to be made to go with the job; it is opened as a job of its own."""
        self.session.when_current(self._make_companion)

    def _make_companion(self, plan: Plan) -> None:
        dialog = CompanionsDialog(self.window(), self.placing, plan, self._shop.stocks, inches=self.inches)
        taken, found = messages.run(dialog), dialog.found
        dialog.deleteLater()
        if taken and found is not None:
            self.job_made.emit(*found.jobs[0])

    # --- placing -------------------------------------------------------------------------------------------------

    def find_best(self) -> None:
        """Look for the best place and put the artwork there, in one step of undo."""
        self.session.when_current(self._find_best)

    def _find_best(self, plan: Plan) -> None:
        options = self.place_card.options(plan.job)

        def take(placed: "Placed") -> None:
            self.session.when_current(lambda now: put(now, placed))

        def put(now: Plan, placed: "Placed") -> None:
            """Only where it was looked for: not on artwork that was opened meanwhile, or a piece taken meanwhile."""
            if same_question(plan, now):
                self.commit(lambda: with_place(now.job, placed), "To the best place")
            elif now.job.source == plan.job.source:
                self.say(caption("The job was changed while its best place was looked for. Look again."))

        self.say("")
        self.placing.do(
            lambda progress, tell: place_job(plan, options, progress=progress), take, lambda error: self.say(str(error))
        )

    def _hint_best_place(self) -> None:
        """Show where the search would put it, on a piece where that is not plain to see."""
        plan = self.session.plan if self.session.current else None
        if plan is None:
            return
        if not (plan.job.sheet.outline or plan.job.sheet.flaws):
            self._hinted = None
            self.hinting.stop()
            self._work.show_soft_place(None)
            return
        options = self.place_card.options(plan.job)
        if self._hinted is not None and same_question(plan, self._hinted[0]) and options == self._hinted[1]:
            return
        self._hinted = (plan, options)
        self._work.show_soft_place(None)

        def work(progress: Progress, tell: Tell) -> object:
            placed = place_job(plan, options, progress=progress)
            return burned_at(plan, placed)

        self.hinting.do(work, self._work.show_soft_place, _no_hint)

    def _place(self, change: Callable[[Plan], Job], label: str, merge_key: str | None = None) -> None:
        """Placing builds on where things lie now, so it waits for the plan of the present job."""
        self.session.when_current(lambda plan: self.commit(lambda: change(plan), label, merge_key=merge_key))


def on_stock(job: Job, stock: Stock) -> Job:
    """The job on another stock; a piece of the rack is of its own stock, so the sheet is none any more."""
    return replace(with_stock(job, stock), piece_id="" if stock.name != job.stock.name else job.piece_id)


def _rack_pieces(book: "ShopBook", job: Job) -> "tuple[tuple[str, str, Piece], ...]":
    from core.shop_book.rack import rack_pieces
    from core.shop_book.reserving import names_of

    return rack_pieces(book, names=names_of(job))


def _no_hint(error: TainError) -> None:
    """Nothing fits: the faces and the page say so already."""


def _offered(own: Stock | Machine, known: Sequence[Stock | Machine]) -> list[tuple[str, object]]:
    """The profiles known, and the job's own first where its figures are not those of any of them."""
    offered: list[tuple[str, object]] = [(profile.name, profile) for profile in known]
    if own not in known:
        alike = any(profile.name == own.name for profile in known)
        offered.insert(0, (f"{own.name} (as in this job)" if alike else own.name, own))
    return offered
