"""The same job on another state of its artwork: every decision about a shape goes with that shape."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from core.artwork.drawing import ArtworkSource, Drawing, ReadOptions
from core.artwork.following import Followed, followed
from core.errors import JobError, UnreadableError
from core.job.job import Job
from core.job.prepare import read_and_repaired
from core.progress import Progress, part, silent


@dataclass(frozen=True, slots=True, kw_only=True)
class Reread:
    """The job on its new artwork, and what became of each shape.

    kept: decisions about single shapes that go on; dropped: those about shapes that are there no more.
    """

    job: Job
    followed: Followed
    kept: int
    dropped: int

    @property
    def words(self) -> str:
        """What is new, gone and changed, in one or two sentences."""
        counts = (("changed", self.followed.changed), ("new", self.followed.new), ("gone", self.followed.gone))
        told = [f"{len(some)} {what}" for what, some in counts if some]
        as_before = len(self.followed.now) - len(self.followed.changed)
        shapes = f"{_shapes(as_before)} as before, {', '.join(told)}." if told else "Every shape is as it was."
        if self.dropped:
            decisions = "1 decision about a shape" if self.dropped == 1 else f"{self.dropped} decisions about shapes"
            return f"{shapes} {decisions} that {'is' if self.dropped == 1 else 'are'} gone went with it."
        return shapes


def reread(
    job: Job,
    source: ArtworkSource,
    *,
    reading: ReadOptions | None = None,
    repairs: tuple[str, ...] | None = None,
    progress: Progress = silent,
) -> Reread:
    """The job with this artwork in place of its own; ``reading`` and ``repairs`` where they are not to stay.

    Purposes and paints of single shapes go with their shapes (see ``following``), all else stays. Raises JobError for a
    job without artwork, UnreadableError for artwork that can't be read or holds nothing to burn.
    """
    if job.source is None:
        raise JobError("There is no artwork in this job.", hint="Open an SVG, DXF or PDF file.")
    changed = replace(
        job,
        source=source,
        reading=reading or job.reading,
        repairs=job.repairs if repairs is None else repairs,
    )
    old = _readable(job, part(progress, 0.0, 0.3))
    new = read_and_repaired(changed, progress=part(progress, 0.3, 0.9))
    if not new.shapes:
        raise UnreadableError(f"{source.name} holds nothing that can be burned now.", hint="The job is unchanged.")
    followed_shapes = followed(old, new) if old is not None else _all_new(new)
    overrides = _renamed(job.overrides, followed_shapes.now)
    paint_of = _renamed(job.finishing.paint_of, followed_shapes.now)
    before = len(job.overrides) + len(job.finishing.paint_of)
    kept = len(overrides) + len(paint_of)
    finishing = replace(job.finishing, paint_of=paint_of)
    return Reread(
        job=replace(changed, overrides=overrides, finishing=finishing),
        followed=followed_shapes,
        kept=kept,
        dropped=before - kept,
    )


def _readable(job: Job, progress: Progress) -> Drawing | None:
    """The job's own drawing; None where it can't be read: then nothing is known of its shapes."""
    try:
        return read_and_repaired(job, progress=progress)
    except UnreadableError:
        return None


def _all_new(drawing: Drawing) -> Followed:
    return Followed(now={}, new=tuple(shape.id for shape in drawing.shapes))


def _renamed(by_shape: tuple[tuple[str, str], ...], now: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    return tuple(sorted((now[shape], decided) for shape, decided in by_shape if shape in now))


def _shapes(count: int) -> str:
    return "1 shape" if count == 1 else f"{count:,} shapes"
