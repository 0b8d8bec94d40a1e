"""A picture before and after its tones are set, shown at true size."""

from PySide6.QtWidgets import QWidget

from app.dialogs.pictures import BeforeAndAfter
from app.session.session import Session
from app.widgets import messages
from core.artwork.pictures.kinds import is_picture
from core.errors import TainError


def compare_picture(parent: QWidget, session: Session) -> None:
    """Show the job's picture as it came and as it is taken; pictures inside SVG and PDF are seen on the faces only."""
    job, plan = session.job, session.plan
    if job.source is None or plan is None:
        return
    if not is_picture(job.source.data[:32]):
        messages.tell(parent, "Before and after", "This picture lies inside the artwork: see it on the faces.")
        return
    left, _, right, _ = job.reading.picture.tones.crop
    try:
        shown = BeforeAndAfter(parent, job.source.data, job.reading.picture, plan.drawing.width_mm / (right - left))
    except TainError as error:
        messages.tell(parent, "Before and after", error.message, hint=error.hint)
        return
    messages.run(shown)
    shown.deleteLater()
