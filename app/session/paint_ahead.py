"""The paint plan of a session's job, worked out behind other pages too once paints are decided."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.session.session import Session

if TYPE_CHECKING:
    from app.session.painting import Painted, Painting


class PaintAhead(QObject):
    """Holds ``painting`` and the step of it that is looked at; tells the session what was found, for the rail.

    changed: what is known of the paint plan, or the step looked at. work_changed: something of it is being worked out
    or made, or no more. progressed: how far that is.
    """

    changed = Signal()
    work_changed = Signal()
    progressed = Signal(float, str)

    def __init__(self, session: Session, parent: QObject) -> None:
        super().__init__(parent)
        self._session = session
        self._painting: Painting | None = None
        self._watched = False
        self._shown_at: int | None = None
        self._shown_source: object = None
        self._told_doing = ""
        session.plan_changed.connect(self._follow)
        session.job_changed.connect(self.changed)

    @property
    def painting(self) -> "Painting":
        """Made when it is first needed: it brings more of the core than a start needs."""
        if self._painting is None:
            from app.session.painting import Painting

            self._painting = Painting(self)
            self._painting.making.busy_changed.connect(self._tell_doing)
            self._painting.making.progressed.connect(self.progressed)
            self._painting.progressed.connect(self.progressed)
            self._painting.changed.connect(self._tell)
        return self._painting

    @property
    def painted(self) -> "Painted | None":
        """What painting this artwork comes to, as last worked out; None while nothing is known."""
        painted = self._painting.painted if self._painting is not None else None
        return painted if painted is not None and painted.plan.job.source == self._session.job.source else None

    @property
    def shown_at(self) -> int | None:
        """Which step at the bench the piece is looked at after, from 0; None for the finished piece."""
        painted, at = self.painted, self._shown_at
        same = self._shown_source == self._session.job.source
        return at if painted is not None and at is not None and same and at < len(painted.bench) else None

    def show_at(self, number: int | None) -> None:
        """Look at the piece after a step at the bench; other artwork is looked at finished."""
        self._shown_at, self._shown_source = number, self._session.job.source
        self.changed.emit()

    def watch(self, watched: bool) -> None:
        """Whether somebody looks at the paints: then they are worked out though none is decided yet."""
        self._watched = watched
        self._follow()

    @property
    def doing(self) -> str:
        """What is being worked out or made, in words; "" while nothing is."""
        if self._painting is None:
            return ""
        making = "Making the run sheet" if self._painting.making.busy else ""
        return making or ("Working out masks and order" if self._painting.busy else "")

    @property
    def stopped(self) -> bool:
        """Whether the paint plan is neither there nor on its way because the maker stopped it."""
        return self._painting is not None and self._painting.stopped

    def stop(self) -> None:
        """Give up what is being worked out and made."""
        if self._painting is not None:
            self._painting.making.stop()
            self._painting.stop()

    def go_on(self) -> None:
        """Work out what was stopped, as soon as the job's plan is there."""
        if self._painting is not None:
            self._painting.forget_stop()
            self._follow()

    def _follow(self) -> None:
        session = self._session
        if session.job.source is None:
            if self._painting is not None:
                self._painting.want(None)
        elif (self._watched and session.current) or (session.complete and self._kept_up):
            self.painting.follow(session.plan)

    @property
    def _kept_up(self) -> bool:
        """Whether nobody needs to look: paints are decided, or are on the faces since somebody looked."""
        return bool(self._session.job.finishing.paints) or self.painted is not None

    def _tell(self) -> None:
        self._tell_doing()
        self.changed.emit()
        painted = self.painting.painted
        if painted is not None and painted.plan.job == self._session.job:
            burns = () if painted.burning is None else painted.burning.findings
            self._session.note_painting(painted.plan.job, (*painted.painting.findings, *burns))

    def _tell_doing(self) -> None:
        if self.doing != self._told_doing:
            self._told_doing = self.doing
            self.work_changed.emit()
