"""All files of a trial's offcut: for the machine, for the bench, for the calendar, and its document."""

from core.errors import JobError
from core.job.plan import Plan
from core.job.prepare import prepare
from core.output.export import export_bytes, problems
from core.output.mask_files import MaskFile
from core.trouble.trials.layout import trial_job
from core.trouble.trials.page import trial_page
from core.trouble.trials.steps import trial_calendar
from core.trouble.trials.trial import Trial, trial_bytes


def trial_files(trial: Trial, piece: int = 1) -> tuple[Plan, tuple[MaskFile, ...]]:
    """(the plan that burns the offcut, its files). Raises JobError where a problem stops it."""
    plan = prepare(trial_job(trial, piece))
    if stopping := problems(plan):
        raise JobError(f"Nothing was written: {stopping[0].message}")
    name = f"trial-{trial.piece(piece).code}"
    files = [MaskFile(name=f"{name}.bed{suffix}", data=export_bytes(plan, suffix)) for suffix in (".svg", ".dxf")]
    files += [
        MaskFile(name=f"{name}.json", data=trial_bytes(trial)),
        MaskFile(name=f"{name}.pdf", data=trial_page(trial)),
    ]
    if trial.workday.start:  # a calendar needs a day
        files.append(MaskFile(name=f"{name}.ics", data=trial_calendar(trial)))
    return plan, tuple(files)
