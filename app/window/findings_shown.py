"""Findings over and below the faces: their marks for the stage at hand, the list of all, zooming to one."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QApplication

from app.canvas.faces_view import FacesView
from app.session.settings import Settings
from app.stages.stage import Stage, stage_of
from app.widgets.findings_list import FindingsList
from core.findings import Finding

FINDING_SPAN_MM = 20.0


class FindingsShown(QObject):
    """Keeps marks and list as they should be; the list is opened and closed by ``action`` and the settings."""

    def __init__(self, faces: FacesView, listed: FindingsList, settings: Settings, action: QAction) -> None:
        super().__init__(faces)
        self._faces, self._list, self._settings, self._action = faces, listed, settings, action
        self._found: Sequence[Finding] = ()
        self._marked: list[Finding] = []
        self._stage = Stage.ARTWORK
        faces.touch.finding_activated.connect(self._mark_clicked)
        faces.touch.held.connect(self._held)
        listed.picked.connect(self.show_finding)

    def show_findings(self, found: Sequence[Finding]) -> None:
        """Show these: all in the list, on the faces those of the stage."""
        self._found = found
        self._mark()
        self.write_list()
        self.open_list()

    def show_stage(self, stage: Stage) -> None:
        """The marks on the faces are those of the stage at hand; at hand-over those of all stages."""
        self._stage = stage
        self._mark()

    def show_finding(self, finding: Finding) -> None:
        """Zoom to a finding and mark its shapes."""
        self._faces.set_highlight(finding.shape_ids)
        if finding.x_mm is not None and finding.y_mm is not None:
            self._faces.zooming.zoom_to(finding.x_mm, finding.y_mm, FINDING_SPAN_MM)

    def write_list(self) -> None:
        """Write the list anew, in the units of the settings."""
        self._list.show_findings(self._found, inches=self._settings.inches)

    def open_list(self) -> None:
        """Open or close the list as the settings have it; nothing moves under the pointer while it drags."""
        wanted = self._settings.get("findings_shown")
        self._action.setChecked(wanted)
        if not self._faces.touch.is_held:
            self._list.setVisible(wanted and bool(self._found))

    def _mark(self) -> None:
        shown = [one for one in self._found if self._stage in (Stage.HAND_OVER, stage_of(one))]
        if shown != self._marked:
            self._marked = shown
            self._faces.set_finding_marks(shown)

    def _mark_clicked(self, index: int) -> None:
        if index < len(self._marked):
            self._settings.set("findings_shown", True)
            self._list.pick(self._list.findings.index(self._marked[index]))

    def _held(self, held: bool) -> None:
        if held:  # what is about to be laid out is laid out now
            QApplication.sendPostedEvents(None, QEvent.Type.LayoutRequest)
        self.open_list()
