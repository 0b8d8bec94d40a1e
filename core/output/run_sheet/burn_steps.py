"""Burns and paints by turns, step by step, where a job is burned in several goes."""

from reportlab.platypus import Flowable, KeepTogether, Table

from core.errors import JobError
from core.figures import said
from core.finishing.steps import PaintPlan
from core.job.painting.burning import BurnPlan, burn_plan
from core.job.painting.stages import Stage, stages_of
from core.job.plan import Plan
from core.job.timing import range_text
from core.output.run_sheet.looks import WIDTH, Box, Style, lined_cells, text

_PUT_BACK = {
    "part edge": "lay the part back into the opening it came out of",
    "marks": "meet the marks",
    "pins": "put the sheet on its pins",
}


def burn_steps(plan: Plan, painting: PaintPlan, style: Style) -> list[Flowable]:
    """The steps with a box to tick for each, what goes wrong said below; nothing where one burn does it all."""
    if painting.burns < 2:
        return []
    try:
        burning = burn_plan(plan, painting)
    except JobError as error:
        return [text(error.message, style.strong)]
    head = ["", text("Step", style.small), text("How", style.small)]
    rows = [head] + [
        [Box(), text(stage.words, style.strong), text(_how(plan, stage), style.small)]
        for stage in stages_of(painting, burning)
    ]
    if plan.datum is not None and plan.datum.kind != "part edge":
        rows.append([Box(), text("cut, last of all", style.strong), text("File cut-last.", style.small)])
    table = Table(rows, colWidths=[16, 190, WIDTH - 206], style=lined_cells())
    return [
        KeepTogether([text("Burn and paint by turns", style.head), table]),
        *(text(words, style.small) for words in _said_below(burning)),
    ]


def _how(plan: Plan, stage: Stage) -> str:
    """What to mind at one step."""
    if stage.burn is None:
        return "Over all of the back, even coats." if stage.step is not None and stage.step.floods else ""
    words = [f"Wait {stage.wait_h:g} h of full cure."] if stage.wait_h else []
    if stage.burn.number > 1 and plan.datum is not None:
        words.append(f"{_PUT_BACK[plan.datum.kind].capitalize()}; focus anew on what lies on the coat.")
    words.append(f"File burn-{stage.burn.number}.")
    for layer in stage.burn.layers:
        words.append(
            f"{layer.layer.name}: {', '.join(said(layer.layer.recipe, 'fill'))}; {range_text(layer.time_range)}."
        )
    if stage.burn.under:
        words.append("Extraction on; somebody watches for fire.")
    return " ".join(words)


def _said_below(burning: BurnPlan) -> list[str]:
    off = f"{burning.play.off_mm:.2f} mm"
    words = [f"Put back, a burn lies up to {off} off; earlier burns reach that far into later areas."]
    return words + [finding.message for finding in burning.findings]
