"""Bed files of a job that is burned in several goes: an SVG and a DXF for each, read back before they are given."""

import re

from core.errors import JobError
from core.finishing.steps import PaintPlan
from core.job.painting.burning import BurnPlan
from core.job.painting.stages import burn_file_plans
from core.job.plan import Plan
from core.output.export import exported
from core.output.mask_files import MaskFile

SUFFIXES = (".svg", ".dxf")


def burn_files(plan: Plan, painting: PaintPlan, burning: BurnPlan) -> tuple[MaskFile, ...]:
    """The files of all burns and of the cut. Raises JobError where something must not be burned through."""
    for finding in burning.findings:
        if finding.severity == "problem":
            raise JobError(finding.message)
    files = []
    plans = dict(burn_file_plans(plan, painting, burning))
    for name, stage in plans.items():
        colours = "-".join(next((burn.colours for burn in burning.burns if name == f"burn-{burn.number}"), ()))
        plain = re.sub(r"[^\w-]+", "-", colours).strip("-")[:40]
        stem = f"{name}-{plain}" if plain else name
        files += [MaskFile(name=f"{stem}{suffix}", data=exported(stage, suffix).data) for suffix in SUFFIXES]
    return tuple(files)
