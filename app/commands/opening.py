"""``tain opening``: a plate with an opening that the job's piece drops or is pressed into."""

import argparse
import json

from app.commands.lengths import MOST_MM, length_mm
from app.commands.made_jobs import add_job_arguments, job_and_stock, write_made
from core.job.companions import USUAL_CLEARANCE_MM, USUAL_MM
from core.job.jigs import opening_job
from core.job.kept_size import keeps_size

SUMMARY = "An opening in another sheet that the job's piece goes into, at a clearance of your choice."
EXAMPLES = ("tain opening sign.tain -o plate.svg --clearance 0.15",)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain opening``."""
    add_job_arguments(parser)
    parser.add_argument(
        "--clearance",
        type=length_mm(least_mm=-MOST_MM),
        default=f"{USUAL_CLEARANCE_MM['opening']:g}",
        metavar="MM",
        help="all round; below 0 a press fit (%(default)s)",
    )
    parser.add_argument(
        "--frame",
        type=length_mm(),
        default=f"{USUAL_MM['frame']:g}",
        metavar="MM",
        help="what stands round the opening (%(default)s)",
    )


def run(arguments: argparse.Namespace) -> int:
    """Make and write. Returns the exit code; raises TainError for the caller to say."""
    plan, stock = job_and_stock(arguments)
    clearance_mm = arguments.clearance
    job = opening_job(plan, stock, clearance_mm=clearance_mm, frame_mm=arguments.frame)
    write_made([(arguments.output, job)], force=arguments.force)
    kept = all(keeps_size(layer.layer) for layer in plan.layers if layer.layer.purpose == "cut" and layer.paths)
    if arguments.json:
        print(json.dumps({"clearance_mm": clearance_mm, "kerf_mm": stock.kerf_mm, "piece_keeps_size": kept}))
        return 0
    print(f"wrote {arguments.output}: lines moved for a kerf of {stock.kerf_mm:g} mm; it lies front up on the bed")
    if not kept:
        print("note: the piece itself is cut as drawn and comes out smaller: tain prepare JOB --keep-size -o ...")
    return 0
