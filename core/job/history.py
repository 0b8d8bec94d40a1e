"""Undo and redo: jobs before and after, each with the words for what changed. A value itself."""

from dataclasses import dataclass, replace

from core.job.job import Job

MAX_STEPS = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A job, the words for the change that led to it, and the key by which a run of changes becomes one step."""

    job: Job
    label: str
    merge_key: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """``steps[at]`` is the present; what stands after it can be redone."""

    steps: tuple[Step, ...]
    at: int = 0

    @property
    def job(self) -> Job:
        """The present job."""
        return self.steps[self.at].job

    @property
    def undo_label(self) -> str | None:
        """What undo takes back, in words; None when there is nothing."""
        return self.steps[self.at].label if self.at > 0 else None

    @property
    def redo_label(self) -> str | None:
        """What redo brings back, in words; None when there is nothing."""
        return self.steps[self.at + 1].label if self.at + 1 < len(self.steps) else None

    def committed(self, job: Job, label: str, *, merge_key: str | None = None) -> "History":
        """With this job as the present; what could be redone is gone. An unchanged job adds no step.

        Changes in a row with the same merge key (a drag, a number being typed) are one step.
        """
        if job == self.job:
            return self
        present = self.steps[self.at]
        kept = self.steps[: self.at + 1]
        if merge_key is not None and merge_key == present.merge_key and self.at > 0:
            kept = kept[:-1]
        steps = (*kept, Step(job=job, label=label, merge_key=merge_key))[-MAX_STEPS:]
        return History(steps=steps, at=len(steps) - 1)

    def sealed(self) -> "History":
        """With the present step closed: the next change is a step of its own whatever its merge key."""
        present = replace(self.steps[self.at], merge_key=None)
        return replace(self, steps=(*self.steps[: self.at], present, *self.steps[self.at + 1 :]))

    def undone(self) -> "History":
        """One step back, if there is one."""
        return replace(self.sealed(), at=max(0, self.at - 1))

    def redone(self) -> "History":
        """One step forth, if there is one."""
        return replace(self.sealed(), at=min(len(self.steps) - 1, self.at + 1))


def new_history(job: Job) -> History:
    """A history that begins with this job."""
    return History(steps=(Step(job=job, label="Start"),))
