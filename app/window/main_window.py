"""The window: stages at the left, both faces in the middle, the stage's page at the right, a line of figures below."""

from functools import partial
from pathlib import Path

from PySide6.QtCore import QByteArray, QPoint, Qt
from PySide6.QtGui import (
    QCloseEvent,
    QDragEnterEvent,
    QDragLeaveEvent,
    QDropEvent,
    QPaintEvent,
    QResizeEvent,
    QShowEvent,
)
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QMainWindow,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from app.canvas.faces_view import FacesView
from app.canvas.loupe import Loupe
from app.canvas.sheet_work import SheetWork
from app.errands.customer import CustomerPages
from app.errands.files import Files
from app.errands.living import LivingArtwork
from app.errands.trials import Trials
from app.errands.trouble import Trouble
from app.help.page_texts import page_of_stage
from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.session.background import busy_within, close_all
from app.session.faults import Faults
from app.session.file_pictures import FilePictures
from app.session.log import steps
from app.session.paint_ahead import PaintAhead
from app.session.recovery import Autosave, Leftover
from app.session.samples import sample_files
from app.session.session import Session
from app.session.settings import Settings
from app.session.shop import Shop
from app.stages.page import Page
from app.stages.ready import why_not_ready
from app.stages.stage import Stage, marks
from app.theme.in_force import apply_theme
from app.theme.polishing import all_took_it_up
from app.widgets import messages
from app.widgets.banner import Banner
from app.widgets.findings_list import FindingsList
from app.window.commands import Commands, faces_commands, file_commands, settings_commands
from app.window.faces_bar import FacesBar
from app.window.findings_shown import FindingsShown
from app.window.first_job import FirstJob
from app.window.first_job_steps import Controls
from app.window.guidance import Guidance
from app.window.job_commands import JobCommands
from app.window.kept_pictures import KeptPictures
from app.window.leaving import Leaving
from app.window.loupe_bar import LoupeBar
from app.window.loupe_desk import LoupeDesk
from app.window.menus import Menus
from app.window.middle import Middle
from app.window.page_makers import PagesByName, page_makers
from app.window.page_side import PageSide
from app.window.pages import Pages
from app.window.paints_shown import PaintsShown
from app.window.shape_menu import show_shape_menu
from app.window.stage_rail import StageRail
from app.window.status_line import StatusLine
from app.window.telling import Telling
from app.window.welcome import Welcome
from core.findings import Finding

NARROW_PX = 1000
FACES_TOOLS = (
    ("undo", "redo"),
    ("fit", "fit selection", "fit sheet"),
    ("zoom out", "zoom in"),
    ("loupe",),
)
"""The commands that have a button at the faces, in groups."""


class MainWindow(Guarded, PagesByName, QMainWindow):
    """Puts the parts together and passes words between them; the work itself is in ``session`` and ``files``."""

    def __init__(self, session: Session, settings: Settings, faults: Faults, data_folder: Path) -> None:
        super().__init__()
        self.session, self.settings, self.faults = session, settings, faults
        session.setParent(self)
        settings.setParent(self)  # what hears of its changes goes with it
        self.files = Files(session, settings, self)
        self.living = LivingArtwork(session, settings, self)
        self.job_commands = JobCommands(session)
        self.shop = Shop(self)
        self.trials = Trials(session, settings, self.files, self.shop, self)
        self.customer = CustomerPages(session, settings, self.files, self.shop, self)
        self.trouble = Trouble(session, settings, self.files, self.shop, self)
        self.paint_ahead = PaintAhead(session, self)
        self.autosave = Autosave(
            session,
            data_folder / "recovery",
            name=self.files.name,
            on_failed=lambda error: self.telling.not_kept_safe(error, self.autosave),
        )
        self.leaving = Leaving(self, session, self.files, self.autosave)
        self.stage = Stage.ARTWORK
        self._narrow = self._painted = False
        self.setAcceptDrops(True)
        self.setMinimumSize(720, 480)
        self.rail = StageRail()
        self.faces = FacesView()
        self.sheet_work = SheetWork(self.faces)
        self.loupe = Loupe(self.faces)
        self.loupe_bar = LoupeBar(self.loupe)
        self.faces_bar = FacesBar()
        pictures = FilePictures(data_folder)
        self.welcome = Welcome(settings, sample_files(), pictures)
        self.first_job = FirstJob()
        self.guidance = Guidance(self, session, self.first_job)
        self.kept_pictures = KeptPictures(session, self.files, self.faces, pictures)
        self.banner = Banner()
        self.findings = FindingsList("All findings")
        self.status = StatusLine(session, settings)
        self.telling = Telling(self.banner, session, self.files, self.living, self.shop, self.trials, self.trouble)
        self.page_side = PageSide(settings, self)
        self._frame()
        stack = self.page_side.stack
        makers = page_makers(session, settings, self.shop, self.sheet_work, self.paint_ahead, stack)
        self.pages = Pages(makers, stack, self._connect_page)
        self.page_side.take(self.pages)
        self.menus = Menus(self, self._commands())
        actions = self.menus.actions
        self.findings_shown = FindingsShown(self.faces, self.findings, settings, actions["findings"])
        self.paints_shown = PaintsShown(self.faces, self.paint_ahead)
        self.loupe_desk = LoupeDesk(self.loupe, self.loupe_bar, actions["loupe"], session)
        self._lay_out()
        self._connect()
        self.menus.offer_files(settings, sample_files(), self.files.open)
        self._restore()
        self.go_to(Stage.ARTWORK)
        self._settings_changed("")
        self._plan_changed()

    @property
    def settled(self) -> bool:
        """Whether nothing is being read, written, worked out or drawn any more."""
        return not self.under_way

    @property
    def under_way(self) -> tuple[str, ...]:
        """What is being read, written, worked out or drawn, each by its name."""
        plan = ("the plan",) if self.session.busy else ()
        threads = tuple(f"work of the thread “{name}”" for name in busy_within(self))
        rooms = tuple(f"rooms of {page.stage.title}" for page in self.pages.made if not page.furnished)
        colours = () if all_took_it_up() else ("colours of hidden widgets",)
        return (*plan, *threads, *rooms, *colours, *self.faces.pictures.under_way)

    # --- building ------------------------------------------------------------------------------------------------

    def _frame(self) -> None:
        """The window's parts from it inwards, down to the stack of pages: what moves has all within it styled anew."""
        whole = QWidget()
        self.setCentralWidget(whole)
        layout = QVBoxLayout(whole)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        upper = QHBoxLayout()
        upper.setContentsMargins(0, 0, 0, 0)
        upper.setSpacing(0)
        layout.addLayout(upper, 1)
        layout.addWidget(self.status)
        upper.addWidget(self.rail)
        self._splitter = QSplitter(Qt.Orientation.Horizontal)
        self._splitter.setChildrenCollapsible(False)
        upper.addWidget(self._splitter, 1)
        self._splitter.addWidget(self.page_side.stack)

    def _lay_out(self) -> None:
        self._middle = middle = Middle(self.faces_bar, self.faces, self.findings)
        middle.float_over(self.welcome, "all")
        middle.float_over(self.banner, "head")
        middle.float_over(self.loupe_bar, "foot")
        middle.float_over(self.first_job, "foot")
        by_key = self.menus.actions
        self.faces_bar.add_commands([[by_key[key] for key in keys] for keys in FACES_TOOLS])
        self._splitter.insertWidget(0, middle)
        self._splitter.setStretchFactor(0, 1)
        self._splitter.setStretchFactor(1, 0)

    def _connect(self) -> None:
        session, files, settings = self.session, self.files, self.settings
        session.job_changed.connect(self._refresh)
        session.plan_changed.connect(self._plan_changed)
        session.selection_changed.connect(self._show_selection)
        session.file_changed.connect(self._show_title)
        for changed in (session.order_changed, session.busy_changed, files.busy_changed, self.telling.watched):
            changed.connect(self._refresh_actions)
        for changed in (session.file_changed, self.shop.wrote, self.autosave.written):
            changed.connect(self.banner.check)
        settings.changed.connect(self._settings_changed)
        self.faults.happened.connect(
            self.leaving.tell_fault, Qt.ConnectionType.QueuedConnection
        )  # never while painting
        self.rail.chosen.connect(self._rail_chosen)
        self.page_side.opened.connect(self.menus.actions["page"].setChecked)
        self._connect_files()
        self._connect_faces()
        self.customer.told.connect(self.telling.of_book)
        self.trials.wrong_wanted.connect(self.trouble.show_page)

    def _connect_files(self) -> None:
        files, ahead = self.files, self.paint_ahead
        files.recovered.connect(self._recovered)
        files.failed.connect(lambda title, error: messages.tell_error(self, title, error))
        files.order_opened.connect(lambda order: self.sheet_page.lay_list())
        files.busy_changed.connect(self._show_file_work)
        ahead.work_changed.connect(self._show_file_work)
        for work in (files, ahead):
            work.progressed.connect(self.status.show_progress)
        self.welcome.open_wanted.connect(files.ask_open)
        self.welcome.chosen.connect(files.open)
        self.welcome.first_job_wanted.connect(self._begin_first_job)

    def _connect_faces(self) -> None:
        session, faces = self.session, self.faces
        self.faces_bar.picture_chosen.connect(faces.set_shown)
        faces.shown_changed.connect(self.faces_bar.show_picture)
        faces.touch.selection_changed.connect(lambda ids: session.select(ids))
        faces.touch.pointed.connect(self.status.show_pointer)
        faces.touch.placement_dragged.connect(self.job_commands.drag)
        faces.touch.shape_activated.connect(self._shape_activated)
        faces.touch.context_requested.connect(self._show_context_menu)
        faces.touch.held.connect(self.banner.hold_still)
        self.status.findings_wanted.connect(lambda: self.settings.toggle("findings_shown"))
        self.status.page_wanted.connect(self.page_side.toggle)
        self.status.stop_wanted.connect(self.stop_work)
        self.status.again_wanted.connect(self._go_on)

    def _connect_page(self, page: Page) -> None:
        """What is wanted on a page that was just made, and who does it."""
        files, trials = self.files, self.trials
        page.go_to.connect(self.go_to)
        page.place_wanted.connect(self.faces.zooming.zoom_to)
        page.finding_picked.connect(self.findings_shown.show_finding)
        page.wrong_wanted.connect(lambda: self.trouble.show_page())
        match page.stage:
            case Stage.ARTWORK:
                self.artwork_page.open_wanted.connect(files.ask_open)
                self.artwork_page.replace_wanted.connect(files.ask_replace)
                self.artwork_page.mend_wanted.connect(self._offer_mending)
                self.artwork_page.compare_wanted.connect(self._compare_picture)
            case Stage.SHEET:
                self.sheet_page.job_made.connect(self.telling.open_made)
                self.sheet_page.rack_wanted.connect(trials.show_rack)
                self.sheet_page.told.connect(self.telling.of_book)
            case Stage.BURN:
                self.burn_page.coupon_wanted.connect(trials.coupons.make)
            case Stage.COVERAGE:
                self.coverage_page.loupe_wanted.connect(self.loupe_desk.lay)
            case Stage.HAND_OVER:
                self.hand_over_page.export_wanted.connect(files.ask_export)
                self.hand_over_page.save_wanted.connect(files.save)
                self.hand_over_page.cost_wanted.connect(trials.show_cost)
                self.hand_over_page.run_sheet_wanted.connect(lambda: self.paint_page.ask_run_sheet())

    def _offer_mending(self, codes: tuple[str, ...], finding: Finding | None) -> None:
        from app.errands.mending import offer_mending

        offer_mending(self, self.session, codes, finding)

    def _compare_picture(self) -> None:
        from app.errands.pictures import compare_picture

        compare_picture(self, self.session)

    def _commands(self) -> Commands:
        return {
            **self.job_commands.by_key,
            **self.trials.by_key,
            **self.customer.by_key,
            **self.trouble.by_key,
            **self.guidance.by_key,
            **file_commands(self.files, self.living),
            **faces_commands(self.faces),
            **settings_commands(self.settings),
            **{f"stage {stage.value}": partial(self.go_to, stage) for stage in Stage},
            "export svg": lambda: self._export(".svg"),
            "export dxf": lambda: self._export(".dxf"),
            "quit": self.close,
            "next stage": lambda: self._step_stage(1),
            "previous stage": lambda: self._step_stage(-1),
            "main action": self._press_main_action,
            "loupe": lambda: self.loupe_desk.toggle(),
            "page": self.page_side.toggle,
            "to faces": lambda: self.faces.setFocus(Qt.FocusReason.ShortcutFocusReason),
            "to page": self.page_side.focus,
            "stop": self.stop_work,
            "work out": self._go_on,
            "help": self.show_help,
            "first job": self._begin_first_job,
        }

    # --- stages --------------------------------------------------------------------------------------------------

    def go_to(self, stage: Stage) -> None:
        """Show a stage. The keys stay with the page when they were there."""
        was_on_page = self.page_side.has_focus
        if stage is not self.stage:
            steps.info("Stage %s", stage.title)
        self.stage = stage
        self.rail.show_stage(stage)
        self.paint_ahead.watch(stage is Stage.PAINT)
        self.page_side.show_page(stage)
        self.faces.set_mode(stage.value)  # the stages' keys are the modes
        self.faces_bar.show_picture(self.faces.state.shown)
        self.findings_shown.show_stage(stage)
        self.loupe_desk.show_stage(stage)
        if stage is Stage.COVERAGE:
            self.coverage_page.ask_for_loupe()
        self.sheet_work.show_on(stage is Stage.SHEET)
        if was_on_page:
            self.page_side.focus()

    def _rail_chosen(self, stage: Stage) -> None:
        again = stage is self.stage
        self.go_to(stage)
        self.page_side.chosen(again=again)

    def _step_stage(self, by: int) -> None:
        stages = list(Stage)
        self.go_to(stages[max(0, min(len(stages) - 1, stages.index(self.stage) + by))])

    def _press_main_action(self) -> None:
        """Press it, or say why it can't be; a page folded away is opened first: it is seen what is pressed."""
        page = self.pages[self.stage]
        if not page.isVisible():
            self.page_side.toggle()
        elif page.main_action.isEnabled():
            page.press_main_action()
        elif reason := page.note.text():
            self.banner.say("note", reason, holds=lambda: page.note.text() == reason)

    # --- showing -------------------------------------------------------------------------------------------------

    def _refresh(self) -> None:
        self.banner.check()
        self.rail.show_marks(marks(self.session))
        self._refresh_actions()
        self._show_title()
        self._show_welcome()

    def _plan_changed(self) -> None:
        plan, error = self.session.plan, self.session.error
        self.faces.set_plan(plan)
        self.sheet_work.show_plan(plan)
        self.loupe.show_plan(plan if self.session.complete else None)
        self.loupe_bar.show_job(self.session.job)
        self.findings_shown.show_findings(plan.findings if plan is not None else ())
        if error is not None:
            self.faces.set_empty_text("This artwork can't be shown", error.message)
            to_artwork = partial(self.go_to, Stage.ARTWORK)
            self.banner.say(
                "problem",
                error.message,
                hint=error.hint,
                action="Go to Artwork",
                do=to_artwork,
                holds=lambda: self.session.error is error,
            )
        else:
            self.faces.set_empty_text("Drop artwork here", "SVG, DXF or PDF, or a Tain job. Ctrl+O opens a file.")
        self._refresh()

    def _refresh_actions(self) -> None:
        on_disk = self.session.job.source is not None and self.living.path is not None
        work = self.files.busy or bool(self.paint_ahead.doing)
        self.menus.refresh(self.session, file_work=work, artwork_on_disk=on_disk)
        self.faces_bar.show_ready(self.session.plan is not None)

    def _show_welcome(self) -> None:
        """An empty window offers to begin; once there is a job the keys go to the faces."""
        empty, begun = self.session.job.source is None, self.session.job.source is not None and self.welcome.on
        self.welcome.show_on(empty)
        if begun:
            self.faces.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_file_work(self) -> None:
        doing = self.files.doing if self.files.busy else self.paint_ahead.doing
        self.status.show_file_work(doing, stopped=self.paint_ahead.stopped)
        self._refresh_actions()

    def _show_selection(self) -> None:
        self.faces.set_selection(self.session.selection)
        self._refresh_actions()

    def _show_title(self) -> None:
        self.setWindowModified(self.session.modified)
        named = self.session.path is not None or self.session.job.source is not None
        self.setWindowTitle(filled("{name}[*] – Tain", name=self.files.name()) if named else caption("Tain[*]"))

    def _settings_changed(self, key: str) -> None:
        settings, actions = self.settings, self.menus.actions
        if key in ("", "units"):
            self.faces.set_inches(settings.inches)
            self.loupe.show_inches(settings.inches)
            self.findings_shown.write_list()
            self.sheet_work.show_inches(settings.inches)
            actions[f"units {settings.get('units')}"].setChecked(True)
        if key in ("", "faces"):
            self.faces.set_arrangement(settings.get("faces"))
            actions[f"faces {settings.get('faces')}"].setChecked(True)
        if key == "looks":
            app = QApplication.instance()
            assert isinstance(app, QApplication)
            apply_theme(app, settings.get("looks"))
        if key in ("", "looks"):
            actions[f"looks {settings.get('looks')}"].setChecked(True)
        if key in ("", "page_shown"):
            self.page_side.follow()
        if key in ("", "findings_shown"):
            self.findings_shown.open_list()
        if key in ("", "read_again"):
            actions["read again itself"].setChecked(settings.get("read_again"))

    # --- the faces -----------------------------------------------------------------------------------------------

    def _shape_activated(self, shape_id: str, at: QPoint) -> None:
        self.go_to(Stage.LAYERS)
        self._show_context_menu((shape_id,), at)

    def _show_context_menu(self, shape_ids: tuple[str, ...], at: QPoint) -> None:
        if shape_ids:
            self.session.select(shape_ids)
        show_shape_menu(self, self.menus.actions, at)

    # --- commands ------------------------------------------------------------------------------------------------

    def _export(self, suffix: str) -> None:
        reason = why_not_ready(self.session)
        if reason:
            self.go_to(Stage.HAND_OVER)
            self.banner.say("note", reason, holds=lambda: why_not_ready(self.session) == reason)
        else:
            self.files.ask_export(suffix)

    def stop_work(self) -> None:
        """Stop what is being worked out, read or drawn."""
        self.files.stop()
        self.paint_ahead.stop()
        self.session.stop()

    def _go_on(self) -> None:
        """Work out what was stopped; nothing stopped, the job anew."""
        if self.session.stopped or not self.paint_ahead.stopped:
            self.session.work_out()
        self.paint_ahead.go_on()

    def show_help(self) -> None:
        """Help of the page at hand, beside the window; of how to begin while it is empty."""
        self.guidance.show_help("start" if self.welcome.on else page_of_stage(self.stage.value))

    def _begin_first_job(self) -> None:
        if self.session.job.source is None:
            self.go_to(Stage.ARTWORK)
        controls = Controls(
            session=self.session,
            stage=lambda: self.stage,
            welcome=self.welcome,
            faces=self.faces,
            tools=self.faces_bar,
            rail=self.rail,
            pages=self.pages,
        )
        self.guidance.begin_first_job(controls)

    # --- dropping ------------------------------------------------------------------------------------------------

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Qt: something is dragged over the window."""
        if dropped_file(event) is not None:
            event.acceptProposedAction()
            self.welcome.zone.show_wanted(True)

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        """Qt: what was dragged over the window has left it."""
        self.welcome.zone.show_wanted(False)

    def dropEvent(self, event: QDropEvent) -> None:
        """Qt: a file is dropped."""
        path = dropped_file(event)
        self.welcome.zone.show_wanted(False)
        if path is not None:
            event.acceptProposedAction()
            self.files.open(path)

    # --- recovery, closing ---------------------------------------------------------------------------------------

    def _recovered(self, leftover: Leftover) -> None:
        self.autosave.take_over(leftover.file)
        self.telling.recovered(leftover)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Qt: the window is to close; unsaved changes are asked about first."""
        if not self.leaving.may_close():
            event.ignore()
            return
        self._remember()
        self.kept_pictures.keep()
        self.faces.shutdown()
        close_all(self)
        self.autosave.close(leave=self.leaving.after_fault)
        event.accept()

    def _remember(self) -> None:
        self.settings.set("window_geometry", bytes(self.saveGeometry().data()))
        if not self.findings.isHidden():
            self.settings.set("faces_over_findings", bytes(self._middle.splitter.saveState().data()))
        self.settings.save()

    def _restore(self) -> None:
        self.resize(1360, 860)
        geometry = self.settings.get("window_geometry")
        if geometry:
            self.restoreGeometry(QByteArray(geometry))
        self._middle.splitter.restoreState(QByteArray(self.settings.get("faces_over_findings")))
        self.page_side.stand_in(self._splitter)
        self.page_side.fit(self._splitter, self.width())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: the window is painted; what the first picture does without is read once it stands."""
        super().paintEvent(event)
        if not self._painted:
            self._painted = True
            self.shop.read()

    def showEvent(self, event: QShowEvent) -> None:
        """Qt: the window comes up; the keys go to the faces at first, or to what an empty window offers."""
        super().showEvent(event)
        first = self.welcome.open_button if self.welcome.on else self.faces
        first.setFocus(Qt.FocusReason.OtherFocusReason)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: the window has another size; a narrow one shows signs only and folds the page away."""
        super().resizeEvent(event)
        narrow = event.size().width() < NARROW_PX
        if narrow != self._narrow:
            self._narrow = narrow
            self.rail.show_narrow(narrow)
            self.status.show_compact(narrow)
            self.page_side.show_narrow(narrow, open_drawer=self.session.job.source is None)
        self.page_side.fit(self._splitter, self._splitter.width())


def dropped_file(event: QDropEvent) -> Path | None:
    """The first file of a drop. Whether it can be read shows when it is: the reader has the better words."""
    return next((Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()), None)
