"""The paint plan of a session's job, worked out behind other pages too once paints are decided."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.session.session import Session

if TYPE_CHECKING:
    from app.session.painting import Painting


class PaintAhead(QObject):
    """Holds ``painting`` and tells the session what was found, for the rail.

    making_changed: something is being made of the paint plan, or no more. progressed: how far that is.
    """

    making_changed = Signal()
    progressed = Signal(float, str)

    def __init__(self, session: Session, parent: QObject) -> None:
        super().__init__(parent)
        self._session = session
        self._painting: Painting | None = None
        session.plan_changed.connect(self._follow)

    @property
    def painting(self) -> "Painting":
        """Made when it is first needed: it brings more of the core than a start needs."""
        if self._painting is None:
            from app.session.painting import Painting

            self._painting = Painting(self)
            self._painting.making.busy_changed.connect(self.making_changed)
            self._painting.making.progressed.connect(self.progressed)
            self._painting.changed.connect(self._tell_session)
        return self._painting

    @property
    def making(self) -> bool:
        """Whether something is being made of the paint plan."""
        return self._painting is not None and self._painting.making.busy

    def stop_making(self) -> None:
        """Give up what is being made of it."""
        if self._painting is not None:
            self._painting.making.stop()

    def _follow(self) -> None:
        if self._session.complete and self._session.job.finishing.paints:
            self.painting.want(self._session.plan)

    def _tell_session(self) -> None:
        painted = self.painting.painted
        if painted is not None and painted.plan.job == self._session.job:
            burns = () if painted.burning is None else painted.burning.findings
            self._session.note_painting(painted.plan.job, (*painted.painting.findings, *burns))
