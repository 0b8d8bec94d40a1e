"""The window: stages at the left, both faces in the middle, the stage's page at the right, a line of figures below."""

from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QEvent, QEventLoop, QPoint, Qt, QTimer, QUrl
from PySide6.QtGui import (
    QCloseEvent,
    QDesktopServices,
    QDragEnterEvent,
    QDragLeaveEvent,
    QDropEvent,
    QResizeEvent,
    QSessionManager,
    QShowEvent,
)
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QHBoxLayout,
    QMainWindow,
    QMenu,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app.canvas.faces_view import FacesView
from app.canvas.loupe import Loupe
from app.canvas.modes import Shown
from app.canvas.sheet_work import SheetWork
from app.dialogs.fault_report import FaultDialog
from app.dialogs.help import about_dialog, cautions_dialog, keys_dialog
from app.errands.customer import CustomerPages
from app.errands.files import Files
from app.errands.living import LivingArtwork, artwork_beside
from app.errands.mending import offer_mending
from app.errands.pictures import compare_picture
from app.errands.trials import Trials
from app.errands.trouble import Trouble
from app.qt.guarded import Guarded
from app.session.background import busy_within, close_all
from app.session.faults import Fault, Faults
from app.session.file_pictures import FilePictures
from app.session.log import steps
from app.session.recovery import Autosave, Leftover, forget
from app.session.samples import sample_files
from app.session.session import Session
from app.session.settings import Settings
from app.session.shop import Shop
from app.stages.artwork import ArtworkPage
from app.stages.burn.page import BurnPage
from app.stages.coverage import CoveragePage
from app.stages.hand_over import HandOverPage, why_not_ready
from app.stages.layers.page import LayersPage
from app.stages.page import Page
from app.stages.paint.page import PaintPage
from app.stages.sheet.page import SheetPage
from app.stages.stage import Stage, marks, stage_of
from app.theme.in_force import apply_theme
from app.widgets import messages
from app.widgets.banner import Banner
from app.widgets.findings_list import FindingsList
from app.window.faces_bar import FacesBar
from app.window.first_job import FirstJob
from app.window.first_job_steps import Controls, first_job_steps
from app.window.job_commands import JobCommands
from app.window.kept_pictures import KeptPictures
from app.window.loupe_bar import LoupeBar
from app.window.menus import Menus, key_sections
from app.window.middle import Middle
from app.window.stage_rail import StageRail
from app.window.status_line import StatusLine
from app.window.welcome import Welcome
from core.artwork.drawing import Finding
from core.burning.coupons import Coupon
from core.errors import TainError
from core.job.cautions import cautions_for
from core.job.job import Job
from core.order.order import Order

if TYPE_CHECKING:
    from app.dialogs.help_reader import HelpReader

NARROW_PX = 1000
FINDING_SPAN_MM = 20.0
FACES_TOOLS = (
    ("undo", "redo"),
    ("fit", "fit selection", "fit sheet"),
    ("zoom out", "zoom in"),
    ("loupe",),
)
"""The commands that have a button at the faces, in groups."""


class MainWindow(Guarded, QMainWindow):
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
        self.autosave = Autosave(
            session, data_folder / "recovery", name=self.files.name, on_failed=self._autosave_failed
        )
        self.stage = Stage.ARTWORK
        self._narrow = False
        self._loupe_by_itself = False
        self._drawer_open = False
        self._given_up: Order | None = None
        self._marked: list[Finding] = []
        self._telling_fault = False
        self._after_fault = False
        self.help_reader: HelpReader | None = None
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
        self.kept_pictures = KeptPictures(session, self.files, self.faces, pictures)
        self.banner = Banner()
        self.findings = FindingsList("All findings")
        self.status = StatusLine(session, settings)
        self._stack = self._frame()
        self.pages = self._build_pages(self._stack)
        self.menus = Menus(self, self._commands())
        self._lay_out()
        self._connect()
        self.menus.offer_files(settings, sample_files(), self.files.open)
        self._restore()
        self.go_to(Stage.ARTWORK)
        self._settings_changed("")
        self._plan_changed()
        self.shop.read()

    @property
    def settled(self) -> bool:
        """Whether nothing is being read, written, worked out or drawn any more."""
        return not self.under_way

    @property
    def under_way(self) -> tuple[str, ...]:
        """What is being read, written, worked out or drawn, each by its name."""
        plan = ("the plan",) if self.session.busy else ()
        threads = tuple(f"work of the thread “{name}”" for name in busy_within(self))
        return (*plan, *threads, *self.faces.under_way)

    # --- building ------------------------------------------------------------------------------------------------

    def _frame(self) -> QStackedWidget:
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
        stack = QStackedWidget()
        stack.setMinimumWidth(320)
        self._splitter.addWidget(stack)
        return stack

    def _build_pages(self, stack: QStackedWidget) -> dict[Stage, Page]:
        session, settings = self.session, self.settings
        self.artwork_page = ArtworkPage(session, settings, parent=stack)
        layers_page = LayersPage(session, settings, self.shop, parent=stack)
        self.sheet_page = SheetPage(session, settings, self.shop, self.sheet_work, parent=stack)
        self.burn_page = BurnPage(session, settings, self.shop, parent=stack)
        self.coverage_page = CoveragePage(session, settings, parent=stack)
        self.paint_page = PaintPage(session, settings, parent=stack)
        self.hand_over_page = HandOverPage(session, settings, parent=stack)
        return {
            Stage.ARTWORK: self.artwork_page,
            Stage.LAYERS: layers_page,
            Stage.SHEET: self.sheet_page,
            Stage.BURN: self.burn_page,
            Stage.COVERAGE: self.coverage_page,
            Stage.PAINT: self.paint_page,
            Stage.HAND_OVER: self.hand_over_page,
        }

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
        for page in self.pages.values():
            self._stack.addWidget(page)

    def _connect(self) -> None:
        session, faces, files = self.session, self.faces, self.files
        session.job_changed.connect(self._refresh)
        session.order_changed.connect(self._refresh_actions)
        session.plan_changed.connect(self._plan_changed)
        session.busy_changed.connect(self._refresh_actions)
        files.busy_changed.connect(self._refresh_actions)
        files.replaced.connect(self._tell_followed)
        session.file_changed.connect(self._watch_artwork)
        self.living.changed.connect(self._tell_changed)
        self.living.reread.connect(self._tell_followed)
        self.living.failed.connect(self._tell_not_reread)
        session.file_changed.connect(self._show_title)
        for changed in (session.file_changed, self.shop.wrote, self.autosave.written):
            changed.connect(self.banner.check)
        session.selection_changed.connect(self._show_selection)
        self.settings.changed.connect(self._settings_changed)
        self.faults.happened.connect(self._tell_fault, Qt.ConnectionType.QueuedConnection)  # never while painting
        self.rail.chosen.connect(self._rail_chosen)
        self.sheet_page.job_made.connect(self._open_made)
        self.sheet_page.rack_wanted.connect(self.trials.show_rack)
        self.files.order_opened.connect(lambda order: self.sheet_page.lay_list())
        self.sheet_page.told.connect(self._tell_of_book)
        self.coverage_page.loupe_wanted.connect(self._lay_loupe)
        self.loupe_bar.put_away.connect(self._toggle_loupe)
        self.faces_bar.picture_chosen.connect(faces.set_shown)
        faces.shown_changed.connect(self.faces_bar.show_picture)
        faces.selection_changed.connect(lambda ids: session.select(ids))
        faces.pointed.connect(self.status.show_pointer)
        faces.placement_dragged.connect(self.job_commands.drag)
        faces.shape_activated.connect(self._shape_activated)
        faces.context_requested.connect(self._show_context_menu)
        faces.finding_activated.connect(self._finding_mark_clicked)
        faces.held.connect(self.banner.hold_still)
        faces.held.connect(self._faces_held)
        self.findings.picked.connect(self.show_finding)
        self.status.findings_wanted.connect(lambda: self._toggle("findings_shown"))
        self.status.page_wanted.connect(self._toggle_page)
        self.status.stop_wanted.connect(self.stop_work)
        self.status.again_wanted.connect(session.work_out)
        files.recovered.connect(self._recovered)
        files.exported.connect(self._tell_exported)
        files.failed.connect(lambda title, error: messages.tell_error(self, title, error))
        files.without_book.connect(self._tell_without_book)
        self.trials.coupons.opened.connect(self._tell_coupon)
        self.trials.told.connect(self._tell_of_book)
        self.customer.told.connect(self._tell_of_book)
        self.trials.wrong_wanted.connect(self.trouble.show_page)
        self.trouble.told.connect(self._tell_of_book)
        self.trials.told_with_undo.connect(lambda text, undo: self._tell_of_book(text, action="Undo", do=undo))
        making = self.paint_page.painting.making
        for work in (files, making):
            work.busy_changed.connect(self._show_file_work)
            work.progressed.connect(self.status.show_progress)
        for page in self.pages.values():
            page.go_to.connect(self.go_to)
            page.place_wanted.connect(faces.zoom_to)
            page.finding_picked.connect(self.show_finding)
            page.wrong_wanted.connect(lambda: self.trouble.show_page())
        self.burn_page.coupon_wanted.connect(self.trials.coupons.make)
        self.artwork_page.open_wanted.connect(files.ask_open)
        self.artwork_page.replace_wanted.connect(files.ask_replace)
        self.welcome.open_wanted.connect(files.ask_open)
        self.welcome.chosen.connect(files.open)
        self.welcome.first_job_wanted.connect(self._begin_first_job)
        self.artwork_page.mend_wanted.connect(self._offer_mending)
        self.artwork_page.compare_wanted.connect(lambda: compare_picture(self, self.session))
        self.paint_page.looks_changed.connect(faces.set_region_looks)
        self.hand_over_page.export_wanted.connect(files.ask_export)
        self.hand_over_page.save_wanted.connect(files.save)
        self.hand_over_page.cost_wanted.connect(self.trials.show_cost)
        self.hand_over_page.run_sheet_wanted.connect(self.paint_page.ask_run_sheet)

    def _commands(self) -> dict[str, Callable[[], object]]:
        session, files, faces, settings = self.session, self.files, self.faces, self.settings
        commands: dict[str, Callable[[], object]] = {
            **self.job_commands.by_key,
            **self.trials.by_key,
            **self.customer.by_key,
            **self.trouble.by_key,
            "open": files.ask_open,
            "replace artwork": files.ask_replace,
            "read again": self.living.read_again,
            "read again itself": lambda: self._toggle("read_again"),
            "save": files.save,
            "save as": files.save_as,
            "export svg": lambda: self._export(".svg"),
            "export dxf": lambda: self._export(".dxf"),
            "quit": self.close,
            "next stage": lambda: self._step_stage(1),
            "previous stage": lambda: self._step_stage(-1),
            "fit": lambda: faces.fit("artwork"),
            "fit selection": lambda: faces.fit("selection"),
            "fit sheet": lambda: faces.fit("sheet"),
            "as sent": lambda: self._turn_picture("as sent"),
            "other picture": lambda: self._turn_picture("as it will look"),
            "zoom in": lambda: faces.zoom_by(1.25),
            "zoom out": lambda: faces.zoom_by(0.8),
            "other units": lambda: settings.set("units", "mm" if settings.inches else "inch"),
            "loupe": self._toggle_loupe,
            "findings": lambda: self._toggle("findings_shown"),
            "page": self._toggle_page,
            "to faces": lambda: faces.setFocus(Qt.FocusReason.ShortcutFocusReason),
            "to page": self._focus_page,
            "stop": self.stop_work,
            "help": self.show_help,
            "first job": self._begin_first_job,
            "keys": lambda: self._run(keys_dialog(self, key_sections())),
            "cautions": lambda: self._run(cautions_dialog(self, cautions_for(session.job))),
            "about": lambda: self._run(about_dialog(self)),
        }
        for stage in Stage:
            commands[f"stage {stage.value}"] = partial(self.go_to, stage)
        for key, values in (
            ("faces", ("by width", "side by side", "stacked")),
            ("units", ("mm", "inch")),
            ("looks", ("system", "light", "dark", "contrast")),
        ):
            for value in values:
                commands[f"{key} {value}"] = partial(settings.set, key, value)
        return commands

    # --- stages --------------------------------------------------------------------------------------------------

    def go_to(self, stage: Stage) -> None:
        """Show a stage. The keys stay with the page when they were there."""
        was_on_page = self._stack.isAncestorOf(QApplication.focusWidget() or self)
        if stage is not self.stage:
            steps.info("Stage %s", stage.title)
        self.stage = stage
        self.rail.show_stage(stage)
        self._stack.setCurrentWidget(self.pages[stage])
        self.faces.set_mode(stage.value)  # the stages' keys are the modes
        self.faces_bar.show_picture(self.faces.shown)
        self._mark_findings()
        if self._loupe_by_itself and stage is not Stage.COVERAGE:
            self._toggle_loupe()
        self.sheet_work.show_on(stage is Stage.SHEET)
        if was_on_page:
            self._focus_page()

    def _rail_chosen(self, stage: Stage) -> None:
        if self._narrow:
            self._drawer_open = stage is not self.stage or not self._drawer_open
        self.go_to(stage)
        self._show_page()

    def _step_stage(self, by: int) -> None:
        stages = list(Stage)
        self.go_to(stages[max(0, min(len(stages) - 1, stages.index(self.stage) + by))])

    def _focus_page(self) -> None:
        if not self._stack.isVisible():
            self._toggle_page()
        page = self.pages[self.stage]
        stops = [one for one in page.tab_stops() if one.isEnabled() and one.isVisibleTo(page)]
        if stops:
            stops[0].setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _toggle_page(self) -> None:
        if self._narrow:
            self._drawer_open = not self._drawer_open
            self._show_page()
        else:
            self._toggle("page_shown")

    def _show_page(self) -> None:
        shown = self._drawer_open if self._narrow else self.settings.get("page_shown")
        self._stack.setVisible(shown)
        self.menus.actions["page"].setChecked(shown)

    def _toggle(self, key: str) -> None:
        self.settings.set(key, not self.settings.get(key))

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
        findings = plan.findings if plan is not None else ()
        self._mark_findings()
        self.findings.show_findings(findings, inches=self.settings.inches)
        self._show_findings_list()
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
        work = self.files.busy or self.paint_page.painting.making.busy
        self.menus.refresh(self.session, file_work=work, artwork_on_disk=on_disk)
        self.faces_bar.show_ready(self.session.plan is not None)

    def _show_welcome(self) -> None:
        """An empty window offers to begin; once there is a job the keys go to the faces."""
        empty, begun = self.session.job.source is None, self.session.job.source is not None and self.welcome.on
        self.welcome.show_on(empty)
        if begun:
            self.faces.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_file_work(self) -> None:
        making = self.paint_page.painting.making.busy
        self.status.show_file_work(self.files.doing if self.files.busy else "Making the run sheet" if making else "")
        self._refresh_actions()

    def _show_selection(self) -> None:
        self.faces.set_selection(self.session.selection)
        self._refresh_actions()

    def _show_title(self) -> None:
        self.setWindowModified(self.session.modified)
        named = self.session.path is not None or self.session.job.source is not None
        self.setWindowTitle(f"{self.files.name()}[*] – Tain" if named else "Tain[*]")

    def _settings_changed(self, key: str) -> None:
        settings, actions = self.settings, self.menus.actions
        if key in ("", "units"):
            self.faces.set_inches(settings.inches)
            self.loupe.show_inches(settings.inches)
            self.findings.show_findings(self.findings.findings, inches=settings.inches)
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
            self._show_page()
        if key in ("", "findings_shown"):
            self._show_findings_list()
        if key in ("", "read_again"):
            actions["read again itself"].setChecked(settings.get("read_again"))

    def _show_findings_list(self) -> None:
        wanted = self.settings.get("findings_shown")
        self.menus.actions["findings"].setChecked(wanted)
        if not self.faces.is_held:  # nothing moves under the pointer while it drags
            self.findings.setVisible(wanted and bool(self.findings.findings))

    def _faces_held(self, held: bool) -> None:
        if held:  # what is about to be laid out is laid out now
            QApplication.sendPostedEvents(None, QEvent.Type.LayoutRequest)
        self._show_findings_list()

    def show_finding(self, finding: Finding) -> None:
        """Zoom to a finding and mark its shapes."""
        self.faces.set_highlight(finding.shape_ids)
        if finding.x_mm is not None and finding.y_mm is not None:
            self.faces.zoom_to(finding.x_mm, finding.y_mm, FINDING_SPAN_MM)

    def _finding_mark_clicked(self, index: int) -> None:
        if index < len(self._marked):
            self.settings.set("findings_shown", True)
            self.findings.pick(self.findings.findings.index(self._marked[index]))

    def _mark_findings(self) -> None:
        """The marks on the faces are those of the stage at hand; at hand-over those of all stages."""
        plan = self.session.plan
        found = plan.findings if plan is not None else ()
        shown = [one for one in found if self.stage in (Stage.HAND_OVER, stage_of(one))]
        if shown != self._marked:
            self._marked = shown
            self.faces.set_finding_marks(shown)

    def _tell_without_book(self, error: TainError) -> None:
        told = f"{error.message} This job begins with the starting profiles."
        self.banner.say("note", told, hint=error.hint, holds=self._same_artwork())

    def _tell_coupon(self, coupon: Coupon) -> None:
        self.banner.say(
            "done",
            f"Coupon {coupon.code} is open as a job: burn it like any other, then read it.",
            action="Save its sheet of looks…",
            do=lambda: self.trials.coupons.save_looks(coupon),
            holds=self._same_job(),
        )

    def _open_made(self, name: str, job: Job) -> None:
        """A job that was drawn here, opened once what stood here is settled."""

        def begin() -> None:
            self.files.begin(job, unsaved=True)
            told = f"The {name} is open as a job of its own: look at it, save it, burn it."
            self.banner.say("done", told, holds=self._same_job())

        self.files.once_settled(begin)

    def _tell_exported(self, path: Path) -> None:
        read_back = self.session.read_back
        told = f"Exported to {path}; {read_back.words}." if read_back else f"Exported to {path}."
        self.banner.say(
            "done" if self.session.handed_over else "note",
            told if self.session.handed_over else f"{told} What was changed meanwhile is not in it.",
            action="Show the folder",
            do=lambda: QDesktopServices.openUrl(QUrl.fromLocalFile(str(path.parent))),
            holds=self._same_job(),
        )

    def _tell_of_book(self, text: str, *, action: str = "", do: Callable[[], object] = lambda: None) -> None:
        """What was done in the shop book; said until it is written to again or other artwork is open."""
        written, same_artwork = self.shop.written, self._same_artwork()
        holds = lambda: self.shop.written == written and same_artwork()  # noqa: E731
        self.banner.say("done", text, action=action, do=do, holds=holds)

    def _watch_artwork(self) -> None:
        """Follow the file that the present artwork came from, or the one of its name beside the job."""
        source, path = self.session.job.source, self.files.artwork_path
        if source is None or (path is not None and path.name != source.name):
            path = None
        if source is not None and path is None:
            path = artwork_beside(self.session.path, source.name)
        self.living.watch(path)
        self._refresh_actions()

    def _tell_changed(self, path: Path) -> None:
        self.banner.say(
            "note",
            f"{path.name} was changed on disk.",
            hint="What was decided about each shape stays with it.",
            action="&Read it again",
            do=self.living.read_again,
            holds=self._same_artwork(),
        )

    def _tell_followed(self, path: Path, words: str) -> None:
        self.banner.say(
            "done", f"{path.name}: {words}", action="Undo", do=self.session.undo, holds=self._same_artwork()
        )

    def _tell_not_reread(self, path: Path, error: TainError) -> None:
        told = f"{path.name} was changed and can't be read: {error.message}"
        self.banner.say("problem", told, hint="The job is unchanged.", holds=self._same_artwork())

    def _same_job(self) -> Callable[[], bool]:
        job = self.session.job
        return lambda: self.session.job == job

    def _same_artwork(self) -> Callable[[], bool]:
        source = self.session.job.source
        return lambda: self.session.job.source is source

    # --- the faces -----------------------------------------------------------------------------------------------

    def _shape_activated(self, shape_id: str, at: QPoint) -> None:
        self.go_to(Stage.LAYERS)
        self._show_context_menu((shape_id,), at)

    def _show_context_menu(self, shape_ids: tuple[str, ...], at: QPoint) -> None:
        if shape_ids:
            self.session.select(shape_ids)
        menu = QMenu(self)
        keys = [f"put {purpose}" for purpose in ("fill", "cut", "score", "guide")]
        for key in (*keys, "leave out", "as suggested", "", "select alike", "invert", "", "fit"):
            if key:
                menu.addAction(self.menus.actions[key])
            else:
                menu.addSeparator()
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.popup(at)

    def _turn_picture(self, wanted: Shown) -> None:
        """Have the front show this; where it does already, what is burned."""
        self.faces.set_shown("what is burned" if self.faces.shown == wanted else wanted)

    def _toggle_loupe(self) -> None:
        on = not self.loupe.on
        self._loupe_by_itself = False
        self.loupe.show_on(on)
        self.loupe_bar.setVisible(on)
        self.menus.actions["loupe"].setChecked(on)

    def _lay_loupe(self, x_mm: float, y_mm: float) -> None:
        """The loupe at a place of the front; one that came up by itself goes with its stage."""
        if not self.loupe.on:
            self._toggle_loupe()
            self._loupe_by_itself = True
        self.loupe.lay_on(x_mm, y_mm)

    # --- commands ------------------------------------------------------------------------------------------------

    def _export(self, suffix: str) -> None:
        reason = why_not_ready(self.session)
        if reason:
            self.go_to(Stage.HAND_OVER)
            self.banner.say("note", reason, holds=lambda: why_not_ready(self.session) == reason)
        else:
            self.files.ask_export(suffix)

    def _offer_mending(self, codes: tuple[str, ...], finding: Finding | None) -> None:
        offer_mending(self, self.session, codes, finding)

    def stop_work(self) -> None:
        """Stop what is being worked out, read or drawn."""
        self.files.stop()
        self.paint_page.painting.making.stop()
        self.session.stop()

    def show_help(self) -> None:
        """Help of the page at hand, beside the window; of how to begin while it is empty."""
        from app.dialogs.help_reader import HelpReader
        from app.help.page_texts import page_of_stage

        if self.help_reader is None:
            self.help_reader = HelpReader(self)
        self.help_reader.show_page("start" if self.welcome.on else page_of_stage(self.stage.value))
        self.help_reader.show()
        self.help_reader.raise_()
        self.help_reader.activateWindow()

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
        self.first_job.begin(first_job_steps(controls))

    def _run(self, dialog: QDialog) -> None:
        messages.run(dialog)
        dialog.deleteLater()

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

    # --- faults, recovery, closing -------------------------------------------------------------------------------

    def _tell_fault(self, fault: Fault) -> None:
        if self._telling_fault:
            return
        self._telling_fault = True
        dialog = FaultDialog(self, fault)
        close = messages.run(dialog)
        dialog.deleteLater()
        self._telling_fault = False
        if close and fault.rescue_file is not None:
            self.give_up_changes()  # they are offered back at the next start
            self._after_fault = True
        if close:
            self.close()

    def _autosave_failed(self, error: TainError) -> None:
        told = f"No safety copy could be written: {error.message}"
        self.banner.say("problem", told, hint="Save the job soon.", holds=lambda: self.autosave.failed)

    def offer_recovery(self, found: list[Leftover]) -> None:
        """Offer back what a window that did not close properly left behind."""
        for leftover in found:
            answer = messages.ask(
                self,
                "Bring back unsaved work?",
                f"Tain did not close properly while {leftover.name} had unsaved changes.",
                (
                    messages.Answer(key="back", text="&Bring it back"),
                    messages.Answer(key="later", text="&Ask again next time", role="cancel"),
                    messages.Answer(key="drop", text="&Throw it away", role="destroy"),
                ),
                hint=f"Last changed on {leftover.changed_at:%Y-%m-%d at %H:%M}.",
            )
            if answer == "drop":
                forget(leftover.file)
            elif answer == "back":
                self.files.recover(leftover)
                break

    def _recovered(self, leftover: Leftover) -> None:
        self.autosave.take_over(leftover.file)
        told = f"{leftover.name} is back, with its unsaved changes."
        same_artwork = self._same_artwork()
        self.banner.say("done", told, holds=lambda: same_artwork() and self.session.modified)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Qt: the window is to close; unsaved changes are asked about first."""
        if not self._may_close(self._save_then_close):
            event.ignore()
            return
        self._remember()
        self.kept_pictures.keep()
        self.faces.shutdown()
        close_all(self)
        self.autosave.close(leave=self._after_fault)
        event.accept()

    def give_up_changes(self) -> None:
        """Let the next closing go ahead without asking, unless the work is changed again before."""
        self._given_up = self.session.order

    def session_ends(self, manager: QSessionManager) -> None:
        """The desktop is logging off: unsaved changes are asked about while that can still be stopped."""
        if manager.allowsInteraction():
            if not self._may_close(self._save_now):
                manager.cancel()
            manager.release()
        elif self.session.modified:
            with suppress(TainError):  # nobody is there any more to be told
                self.autosave.write_through()

    def _may_close(self, save: Callable[[], bool]) -> bool:
        """Whether nothing would be lost; asks where something would. ``save`` says whether it is saved by now."""
        if not self.session.modified or self.session.order is self._given_up:
            return True
        answer = self.files.ask_about_changes()
        if answer == "discard":
            self.give_up_changes()
        return save() if answer == "save" else answer == "discard"

    def _save_then_close(self) -> bool:
        self.files.save(lambda: QTimer.singleShot(0, self.close))
        return False

    def _save_now(self) -> bool:
        """Save and wait for it: once the desktop was told to go on there is no time left."""
        loop = QEventLoop()
        self.files.busy_changed.connect(lambda: None if self.files.busy else loop.quit())
        self.files.save()
        if self.files.busy:
            loop.exec()
        return not self.session.modified

    def _remember(self) -> None:
        self.settings.set("window_geometry", bytes(self.saveGeometry().data()))
        if self._stack.isVisible():
            self.settings.set("page_width", self._stack.width())
        if not self.findings.isHidden():
            self.settings.set("faces_over_findings", bytes(self._middle.splitter.saveState().data()))
        self.settings.save()

    def _restore(self) -> None:
        self.resize(1360, 860)
        geometry = self.settings.get("window_geometry")
        if geometry:
            self.restoreGeometry(QByteArray(geometry))
        self._middle.splitter.restoreState(QByteArray(self.settings.get("faces_over_findings")))
        width = max(320, min(600, self.settings.get("page_width")))
        self._splitter.setSizes([self.width() - width, width])

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
            self._drawer_open = self.session.job.source is None
            self.rail.show_narrow(narrow)
            self.status.show_compact(narrow)
            self._show_page()


def dropped_file(event: QDropEvent) -> Path | None:
    """The first file of a drop. Whether it can be read shows when it is: the reader has the better words."""
    return next((Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()), None)
