"""Commands on the session alone: what is selected, which layer it goes to, where the artwork lies."""

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from app.qt.captions import filled
from app.session.session import Session
from app.stages.putting import put_on_layer
from core.job.job import Job
from core.purposes import LEAVE_OUT, PURPOSES, UNDECIDED, Purpose
from core.sheet.placement import Turn

if TYPE_CHECKING:
    from core.job.plan import Plan


class JobCommands:
    """``by_key`` holds them by the keys of the menus."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self.by_key: dict[str, Callable[[], object]] = {
            "undo": session.undo,
            "redo": session.redo,
            "select all": lambda: session.select(self._shape_ids()),
            "select alike": self._select_alike,
            "select undecided": lambda: session.select(self._ids_on(UNDECIDED)),
            "invert": lambda: session.select(self._shape_ids() - session.selection),
            "select none": lambda: session.select(()),
            "leave out": lambda: self._put(LEAVE_OUT),
            "as suggested": lambda: self._put(None),
            "turn": self._turn_other_way,
            "rotate": lambda: self.place("Rotate the artwork", a_quarter_turn_on),
            "centre": lambda: self.place("Artwork to the middle", in_the_middle),
            **{f"put {purpose}": partial(self._put_on_purpose, purpose) for purpose in PURPOSES},
        }

    def place(self, label: str, change: Callable[["Plan"], Job]) -> None:
        """Place the artwork anew, from where it lies in the present job's plan."""
        self._session.when_current(lambda plan: self._session.commit(change(plan), label))

    def drag(self, dx_mm: float, dy_mm: float, finished: bool) -> None:
        """The artwork was dragged by so much, front frame; one step of undo once it is let go."""
        if finished and (dx_mm or dy_mm):
            from core.job.decisions import moved

            self.place("Drag the artwork", lambda plan: moved(plan, dx_mm, dy_mm))

    def _shape_ids(self) -> frozenset[str]:
        plan = self._session.plan
        return frozenset(shape.id for shape in plan.drawing.shapes) if plan is not None else frozenset()

    def _ids_on(self, layer_id: str) -> list[str]:
        plan = self._session.plan
        return [shape for shape, layer in plan.layer_of.items() if layer == layer_id] if plan is not None else []

    def _select_alike(self) -> None:
        if self._session.plan is not None:
            from core.job.decisions import alike

            self._session.select(alike(self._session.plan, self._session.selection))

    def _put(self, layer_id: str | None) -> None:
        put_on_layer(self._session, sorted(self._session.selection), layer_id)

    def _put_on_purpose(self, purpose: Purpose) -> None:
        job, shape_ids = self._session.job, sorted(self._session.selection)
        first = next((layer.id for layer in job.layers if layer.purpose == purpose), None)
        if first is not None:
            self._put(first)
        elif shape_ids:  # a coupon's job has layers for what it tries only
            from core.job.decisions import with_new_layer

            self._session.commit(
                with_new_layer(job, purpose, shape_ids), filled("To a new {purpose} layer", purpose=purpose)
            )

    def _turn_other_way(self) -> None:
        from core.job.decisions import with_turn

        turn: Turn = "endways" if self._session.job.turn == "sideways" else "sideways"
        self._session.commit(with_turn(self._session.job, turn), filled("Turn {turn}", turn=turn))


def a_quarter_turn_on(plan: "Plan") -> Job:
    """The plan's job with the artwork rotated by another quarter turn."""
    from core.job.decisions import rotated

    return rotated(plan, plan.job.placement.rotation_deg + 90)


def in_the_middle(plan: "Plan") -> Job:
    """The plan's job with what is burned in the middle of the sheet."""
    from core.job.decisions import aligned

    return aligned(plan, "middle", "middle")
