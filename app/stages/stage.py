"""The stages in the order of the work, and the mark each carries: a shape and a word, never colour alone."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from app.session.session import Session
from app.words.wording import count_text
from core import findings
from core.findings import Finding
from core.purposes import UNDECIDED

if TYPE_CHECKING:
    from core.job.plan import Plan


class Stage(Enum):
    """A step of the job; the value is its key for icons and the views."""

    ARTWORK = "artwork"
    LAYERS = "layers"
    SHEET = "sheet"
    BURN = "burn"
    COVERAGE = "coverage"
    PAINT = "paint"
    HAND_OVER = "hand over"

    @property
    def title(self) -> str:
        """The stage's name."""
        return self.value.capitalize()


class State(Enum):
    """How a stage stands; the value is said aloud and shown as a tooltip."""

    DONE = "done"
    DECIDE = "needs a decision"
    BLOCKED = "in the way"
    WAITING = "not yet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A stage's state and the reason in a few words."""

    state: State
    why: str = ""


WAITING = Mark(state=State.WAITING)
DONE = Mark(state=State.DONE)


def marks(session: Session) -> dict[Stage, Mark]:
    """The mark of every stage for what the session holds."""
    if session.job.source is None:
        start = dict.fromkeys(Stage, WAITING)
        return start | {Stage.ARTWORK: Mark(state=State.DECIDE, why="Open the artwork")}
    if session.error is not None:
        return dict.fromkeys(Stage, WAITING) | {Stage.ARTWORK: Mark(state=State.BLOCKED, why=session.error.message)}
    plan = session.plan
    if plan is None:
        return dict.fromkeys(Stage, WAITING)
    result = {stage: _mark_from_findings(session, plan, stage) for stage in Stage}
    result[Stage.LAYERS] = _worse(result[Stage.LAYERS], _layers_mark(plan))
    result[Stage.COVERAGE] = _worse(result[Stage.COVERAGE], _coverage_mark(plan))
    result[Stage.PAINT] = _paint_mark(session, plan)
    result[Stage.HAND_OVER] = _hand_over_mark(session, plan)
    return result


def stage_of(finding: Finding) -> Stage:
    """Where a finding is dealt with."""
    return Stage(findings.stage_of(finding.code))


def _mark_from_findings(session: Session, plan: "Plan", stage: Stage) -> Mark:
    return _mark_of(session, [finding for finding in plan.findings if stage_of(finding) is stage])


def _mark_of(session: Session, found: Sequence[Finding]) -> Mark:
    for finding in found:
        if finding.severity == "problem":
            return Mark(state=State.BLOCKED, why=finding.message)
    warnings = [one for one in found if one.severity == "warning" and not session.was_looked_at(one)]
    if not warnings:
        return DONE
    more = f" (and {len(warnings) - 1} more)" if len(warnings) > 1 else ""
    return Mark(state=State.DECIDE, why=f"{warnings[0].message}{more}")


def _layers_mark(plan: "Plan") -> Mark:
    undecided = sum(layer == UNDECIDED for layer in plan.layer_of.values())
    if undecided:
        return Mark(
            state=State.DECIDE, why=f"{undecided} shapes are undecided" if undecided > 1 else "1 shape is undecided"
        )
    if not any(planned.shape_ids for planned in plan.layers if planned.layer.purpose != "guide"):
        return Mark(state=State.DECIDE, why="Nothing is to be burned yet")
    return DONE


def _coverage_mark(plan: "Plan") -> Mark:
    """What is not clean stands among the findings."""
    return DONE if plan.complete else WAITING


def _paint_mark(session: Session, plan: "Plan") -> Mark:
    """What the artwork only suggests is for the maker to decide; the masks' findings come once they are worked out."""
    from core.job.painting.colouring import paints_of_shapes, suggested_paints

    suggested = suggested_paints(plan)
    if suggested:
        count = count_text(len(suggested), "paint is", "paints are")
        return Mark(state=State.DECIDE, why=f"{count} suggested by the artwork's colours")
    if not paints_of_shapes(plan)[1]:
        return Mark(state=State.DONE, why="Nothing is painted")
    if session.paint_findings is None:
        return WAITING
    return _worse(_mark_of(session, session.paint_findings), _mark_from_findings(session, plan, Stage.PAINT))


def _hand_over_mark(session: Session, plan: "Plan") -> Mark:
    if any(finding.severity == "problem" for finding in plan.findings):
        return Mark(state=State.BLOCKED, why="A problem stops the hand-over")
    from core.job.cautions import missing_ticks

    missing = len(missing_ticks(session.job))
    if missing:
        return Mark(state=State.DECIDE, why=f"{missing} cautions to tick" if missing > 1 else "1 caution to tick")
    if session.handed_over:
        return Mark(state=State.DONE, why="Exported")
    return Mark(state=State.DECIDE, why="Ready to export")


def _worse(one: Mark, other: Mark) -> Mark:
    order = (State.DONE, State.WAITING, State.DECIDE, State.BLOCKED)
    return max(one, other, key=lambda mark: order.index(mark.state))
