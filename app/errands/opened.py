"""A file read for the window, off the GUI thread: its job, what has to be asked about it, what in it is foreign."""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from core.artwork.picture_kinds import is_picture
from core.artwork.sources import load_source
from core.errors import TainError, UnitsUnknownError, UnreadableError
from core.job.job import Job
from core.progress import Progress

if TYPE_CHECKING:
    from core.artwork.drawing import Drawing
    from core.order.order import Order
    from core.shop_book.foreign_settings import ForeignSetting

JOB_SUFFIX = ".tain"
STARTING_WIDTH_MM = 100.0
"""Of a picture that does not say its size, where the question begins."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A file that was read: its job, and its drawing at 96 px an inch where the file does not say how large it is.

    problem: why the shop book could not be asked what it has learned. foreign: settings of an exported file that are
    not the shop's. order: an order of many parts, whose design the job is.
    """

    path: Path
    job: Job
    unsized: "Drawing | None"
    is_picture: bool = False
    problem: TainError | None = None
    foreign: "tuple[ForeignSetting, ...]" = ()
    order: "Order | None" = None


def opened(path: Path, progress: Progress) -> Iterator[Opened]:
    """Read a file; where it does not say how large it is, its drawing comes along so that the size can be asked for.

    Raises UnreadableError, also for a file with nothing to burn.
    The drawing of a file that says its size is remembered by the core, so reading it again for the plan costs nothing.
    """
    from core.job.prepare import read_and_repaired
    from core.order.order_file import holds_order, order_from_bytes
    from core.output.opening import embedded_settings
    from core.shop_book.beginning import begin_job
    from core.shop_book.foreign_settings import foreign_settings

    if holds_order(load_source(path).data):
        order = order_from_bytes(load_source(path).data, name=path.name)
        yield Opened(path=path, job=order.design, unsized=None, order=order)
        return
    job, problem = begin_job(path)
    carries = job.source is not None and embedded_settings(job.source) is not None
    if job.source is None or path.suffix.lower() == JOB_SUFFIX:
        yield Opened(path=path, job=job, unsized=None)
        return
    strict = replace(job, reading=replace(job.reading, assume_units=None))
    unsized, is_dots = None, False
    try:
        drawing = read_and_repaired(strict, progress=progress)
    except UnitsUnknownError:
        picture = job.reading.picture
        is_dots = is_picture(job.source.data[:32])
        picture = replace(picture, width_mm=STARTING_WIDTH_MM) if is_dots else picture
        guessed = replace(job, reading=replace(job.reading, assume_units="px", picture=picture))
        drawing = unsized = read_and_repaired(guessed, progress=progress)
    if not drawing.shapes:
        why = drawing.findings[0].message if drawing.findings else "Ask for the file that holds the drawing."
        raise UnreadableError(f"{path.name} holds nothing that can be burned.", hint=why)
    foreign: tuple[ForeignSetting, ...] = ()
    if carries:
        with suppress(TainError):
            foreign = foreign_settings(job)
    yield Opened(path=path, job=strict, unsized=unsized, is_picture=is_dots, problem=problem, foreign=foreign)
