"""Mending the artwork: repairs are looked at before and after, and accepted as one step of undo."""

from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtWidgets import QWidget

from app.dialogs.repair_preview import RepairPreview
from app.session.session import Session
from app.widgets import messages
from core.findings import Finding
from core.geometry.affine import apply, inverse
from core.job.decisions import with_repair

if TYPE_CHECKING:
    from core.job.plan import Plan


def offer_mending(
    parent: QWidget,
    session: Session,
    codes: tuple[str, ...],
    finding: Finding | None = None,
) -> None:
    """Show what the repairs would change, and accept them when the maker says so.

    ``finding``: the one that was chosen, to be looked at from near by.
    """
    plan = session.plan
    if plan is None or not codes:
        return
    sentences = [one.message for one in plan.findings if one.repair in codes]
    place = finding_place(plan, finding) if finding is not None else None
    preview = RepairPreview(parent, plan.drawing, codes, sentences, place_mm=place)
    if messages.run(preview):
        job = session.job
        for code in codes:
            job = with_repair(job, code, True)
        session.commit(job, "Mend the artwork")
    preview.deleteLater()


def finding_place(plan: "Plan", finding: Finding) -> tuple[float, float] | None:
    """Where a finding of the plan lies in the drawing's frame; None when it has no place."""
    if finding.x_mm is None or finding.y_mm is None:
        return None
    x_mm, y_mm = apply(inverse(plan.drawing_to_front), np.array([finding.x_mm, finding.y_mm]))
    return float(x_mm), float(y_mm)
