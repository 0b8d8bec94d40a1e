"""Whether the job can be handed over just now, and what is burned then."""

from typing import TYPE_CHECKING

from app.session.session import Session
from app.words.wording import count_text

if TYPE_CHECKING:
    from core.job.plan import LayerPlan, Plan


def burn_order(plan: "Plan") -> list["LayerPlan"]:
    """The layers that are burned and not empty, in burn order: fills, scores, cuts."""
    order = ("fill", "score", "cut")
    burned = [one for one in plan.layers if one.layer.purpose in order and one.shape_ids]
    return sorted(burned, key=lambda one: order.index(one.layer.purpose))


def why_not_ready(session: Session) -> str:
    """Why the job can't be exported just now; "" when it can."""
    plan = session.plan
    if session.job.source is None:
        return "Open artwork first."
    if session.error is not None:
        return session.error.message
    if plan is None or not session.complete:
        return "The job is still being worked out." if session.busy else "The job is not worked out."
    problem = next((finding for finding in plan.findings if finding.severity == "problem"), None)
    if problem is not None:
        return f"In the way: {problem.message}"
    if not burn_order(plan):
        return "Nothing is to be burned yet."
    from core.job.cautions import missing_ticks

    missing = len(missing_ticks(session.job))
    if missing:
        return f"{count_text(missing, 'caution is', 'cautions are')} not ticked yet."
    return ""
