"""Advice and dose windows of the session's fills, worked out off the GUI thread while somebody looks."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.session.background import Background, Question
from core.burning.dose_window import DoseWindow, WindowAxis, dose_window
from core.burning.run_time import fill_time_s
from core.burning.unknowns import beliefs_of, draws_of
from core.errors import TainError
from core.progress import Progress, part
from core.sheet.recipes import Recipe

if TYPE_CHECKING:
    from core.job.advising import LayerAdvice
    from core.job.plan import LayerPlan, Plan


WINDOW_DRAWS = 1024
"""Of the unknowns, at every place of a window: few enough to follow a drag."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Window:
    """The dose window of a layer."""

    layer_id: str
    window: DoseWindow


class Advising(QObject):
    """Holds what was worked out last, by layer id; it is of the plan asked for last.

    changed: ``windows``, ``advice``, ``error``, ``busy`` or ``stopped`` changed. progressed: how far the advice is.
    """

    changed = Signal()
    progressed = Signal(float, str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._question = Question(Background("advice", self))
        self._question.busy_changed.connect(self.changed)
        self._question.progressed.connect(self.progressed)
        self._stopped_layers: object | None = None
        self._plan: Plan | None = None
        self._axis: WindowAxis = "speed"
        self.windows: dict[str, DoseWindow] = {}
        self.advice: dict[str, LayerAdvice] = {}
        self.error: TainError | None = None

    @property
    def busy(self) -> bool:
        """Whether it is being worked out."""
        return self._question.busy

    def want(self, plan: "Plan | None", axis: WindowAxis) -> None:
        """Work a complete plan's advice out, unless that is done or under way; what runs for another is cancelled.

        Without a plan the old windows stay in view, the advice does not. What was stopped is left alone.
        """
        if self.stopped and plan is not None and plan.layers is self._stopped_layers and axis == self._axis:
            return
        self._stopped_layers = None
        same = plan is not None and self._plan is not None and plan.layers is self._plan.layers
        if (same and axis == self._axis) or plan is self._plan is None:
            return
        known = self.advice if same and not self.busy else {}
        self._plan, self._axis, self.advice, self.error = plan, axis, known, None
        if plan is None:
            self._question.stop()
        else:
            self._question.ask(
                lambda progress: work_out(plan, axis, progress, advise=not known), self._take, self._take_failure
            )

    @property
    def stopped(self) -> bool:
        """Whether it was stopped before it was worked out."""
        return self._stopped_layers is not None

    def stop(self) -> None:
        """Cancel what runs; the same is not worked out again before ``go_on``."""
        if self.busy and self._plan is not None:
            self._stopped_layers, self._plan = self._plan.layers, None
            self._question.stop()

    def go_on(self) -> None:
        """Forget that it was stopped; who wants it may ask again."""
        self._stopped_layers = None
        self.changed.emit()

    def _take(self, found: "Window | LayerAdvice") -> None:
        if isinstance(found, Window):
            self.windows = {**self.windows, found.layer_id: found.window}
        else:
            self.advice = {**self.advice, found.layer_id: found}
        self.changed.emit()

    def _take_failure(self, error: TainError) -> None:
        self.error = error
        self.changed.emit()


def work_out(
    plan: "Plan", axis: WindowAxis, progress: Progress, *, advise: bool = True
) -> "Iterator[Window | LayerAdvice]":
    """First the windows of all fills, then the advice on each (loaded when first needed). Raises TainError."""
    from core.job.advising import advise_layer

    fills = [layer for layer in plan.layers if layer.layer.purpose == "fill" and not layer.region.is_empty]
    for layer in fills:
        yield Window(layer_id=layer.layer.id, window=window_of(plan, layer, axis, progress))
    for number, layer in enumerate(fills if advise else ()):
        yield advise_layer(plan, layer, progress=part(progress, number / len(fills), (number + 1) / len(fills)))


def window_of(plan: "Plan", layer: "LayerPlan", axis: WindowAxis, progress: Progress) -> DoseWindow:
    """The dose window of a layer, with the run time of its own rows. Raises JobError."""
    rows, machine = layer.rows, plan.job.machine

    def time_s(recipe: Recipe) -> float:
        progress(0.0, "run times")
        assert rows is not None
        return fill_time_s(rows, recipe, machine)

    return dose_window(
        layer.layer.recipe,
        machine,
        plan.job.stock,
        axis=axis,
        shape=(48, 96),
        time_of=time_s if rows else None,
        draws=draws_of(beliefs_of(machine, plan.job.stock), machine, count=WINDOW_DRAWS),
    )
