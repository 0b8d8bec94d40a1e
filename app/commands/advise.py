"""``tain advise``: will the coat come off clean, and what would be quicker or sharper?"""

import argparse
import json
from dataclasses import replace
from pathlib import Path

from app.commands.files_in import add_settings_argument, opened_job
from core.burning.advice import InsetFigures
from core.burning.recipe_advice import RecipeAdvice, sentence
from core.errors import UnreadableError
from core.job.advising import LayerAdvice, advice_data, advise
from core.job.prepare import prepare
from core.units import duration_text

SUMMARY = "Advice on every fill of a job: verdict, coarsest clean pitch, fastest recipe, scan angle, thin parts."
EXAMPLES = (
    "tain advise sign.tain",
    "tain advise sign.tain --chance-pct 95 --json",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain advise``."""
    parser.add_argument("job", type=Path, metavar="JOB", help="a job (.tain), an export, or artwork")
    add_settings_argument(parser)
    parser.add_argument("--json", action="store_true", help="print one JSON document")
    parser.add_argument(
        "--chance-pct",
        type=float,
        metavar="N",
        help="the chance of a clean piece that recipes are to have (default: the job's own, 90 unless set)",
    )


def run(arguments: argparse.Namespace) -> int:
    """Advise. Returns the exit code; raises TainError for the caller to say."""
    wanted_pct = arguments.chance_pct
    if wanted_pct is not None and not 50 <= wanted_pct < 100:
        raise UnreadableError(f"A chance of {wanted_pct:g} % can't be kept to.", hint="Give 50 to 99, like 90.")
    job = opened_job(arguments.job, arguments)
    plan = prepare(job if wanted_pct is None else replace(job, wanted_chance=wanted_pct / 100))
    found = advise(plan)
    if arguments.json:
        data = {
            "machine": plan.job.machine.name,
            "stock": plan.job.stock.name,
            "wanted_chance": plan.job.wanted_chance,
            "time_s": plan.time_s,
            "layers": [advice_data(advice) for advice in found],
        }
        print(json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False))
        return 0
    if not found:
        print("Nothing in this job is filled; there is nothing to advise.")
    for advice in found:
        print("\n".join(_lines(advice)))
    if found:
        print("All of it is worked out from the machine's and the stock's figures: prove it on a scrap.")
    return 0


def _lines(advice: LayerAdvice) -> list[str]:
    lines = [f"{advice.layer_name}: {advice.headline.words}. {advice.verdict.words}"]
    lines.append(f"  {sentence(advice.chance)}")
    lines += [f"  {advice.next_coupon.words}"] if advice.next_coupon is not None else []
    lines += [f"  {remedy.words}" for remedy in advice.remedies]
    lines += [f"  {item.words}{_saved(item)}" for item in (advice.pitch, advice.fastest, advice.angle)]
    if advice.held_on:
        lines.append(f"  Edge inset and thin parts are held on {advice.held_on}; all figures of them are of that part.")
    lines += _inset_lines(advice.inset)
    lines += [f"  Thin part at bed {thin.x_mm:.1f}, {thin.y_mm:.1f}: {thin.words}" for thin in advice.thin_parts[:10]]
    if len(advice.thin_parts) > 10:
        lines.append(f"  ... and {len(advice.thin_parts) - 10} more thin parts.")
    return lines


def _inset_lines(inset: InsetFigures | None) -> list[str]:
    """What an edge inset does; nothing where nothing is bared, so that nothing spills, and for screened pictures."""
    if inset is None:
        return []
    before, after, inset_mm = inset.before, inset.after, inset.recipe.edge_inset_mm
    if inset_mm == 0:
        return []
    return [
        f"  Edge inset of {inset_mm:.3f} mm: spill {before.spill_mm2:.2f} to {after.spill_mm2:.2f} mm², left over "
        f"{before.left_over_mm2:.2f} to {after.left_over_mm2:.2f} mm², lost features {before.lost_features} to "
        f"{after.lost_features}."
    ]


def _saved(advice: RecipeAdvice) -> str:
    if advice.recipe is None:
        return ""
    word = "saves" if advice.time_saved_s >= 0 else "costs"
    return f" Takes {duration_text(advice.time_s)}, {word} {duration_text(abs(advice.time_saved_s))}."
