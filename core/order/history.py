"""Undo and redo: the work before and after, each with the words for what changed. A value itself."""

from dataclasses import dataclass, replace

from core.job.job import Job
from core.order.order import Order

MAX_STEPS = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """The work, the words for the change that led to it, and the key by which a run of changes becomes one step."""

    order: Order
    label: str
    merge_key: str | None = None

    @property
    def job(self) -> Job:
        """The job, or the design of which a list makes many."""
        return self.order.design


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """``steps[at]`` is the present; what stands after it can be redone."""

    steps: tuple[Step, ...]
    at: int = 0

    @property
    def order(self) -> Order:
        """The present work."""
        return self.steps[self.at].order

    @property
    def job(self) -> Job:
        """The present job: the design."""
        return self.order.design

    @property
    def undo_label(self) -> str | None:
        """What undo takes back, in words; None when there is nothing."""
        return self.steps[self.at].label if self.at > 0 else None

    @property
    def redo_label(self) -> str | None:
        """What redo brings back, in words; None when there is nothing."""
        return self.steps[self.at + 1].label if self.at + 1 < len(self.steps) else None

    def committed(self, order: Order, label: str, *, merge_key: str | None = None) -> "History":
        """With this as the present; what could be redone is gone. Where nothing is changed there is no step.

        Changes in a row with the same merge key (a drag, a number being typed) are one step.
        """
        if order == self.order:
            return self
        present = self.steps[self.at]
        kept = self.steps[: self.at + 1]
        if merge_key is not None and merge_key == present.merge_key and self.at > 0:
            kept = kept[:-1]
        steps = (*kept, Step(order=order, label=label, merge_key=merge_key))[-MAX_STEPS:]
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


def new_history(order: Order) -> History:
    """A history that begins with this work."""
    return History(steps=(Step(order=order, label="Start"),))
