"""``tain backer``: a plate behind the job's piece, of one piece, with lines to lay the piece by."""

import argparse
import json

from app.commands.lengths import length_mm
from app.commands.made_jobs import add_job_arguments, job_and_stock, write_made
from core.job.burned import finished_region
from core.job.companions import USUAL_MM
from core.job.jigs import backer_job
from core.sheet.backers import backer

SUMMARY = "A backing plate grown from the outline, islands joined, with scored lines that the upper piece hides."
EXAMPLES = ("tain backer sign.tain -o backer.svg --stock 'clear acrylic 3 mm' --margin 8",)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain backer``."""
    add_job_arguments(parser)
    parser.add_argument(
        "--margin",
        type=length_mm(),
        default=f"{USUAL_MM['margin']:g}",
        metavar="MM",
        help="how far it stands out (%(default)s)",
    )
    parser.add_argument(
        "--join", choices=("grow", "bridges"), default="grow", help="close gaps between islands, or lay bars over them"
    )
    parser.add_argument(
        "--web",
        type=length_mm(),
        default=f"{USUAL_MM['bridge']:g}",
        metavar="MM",
        help="no web is thinner (%(default)s)",
    )
    parser.add_argument(
        "--inset",
        type=length_mm(),
        default=f"{USUAL_MM['inset']:g}",
        metavar="MM",
        help="lines lie so far under the piece (%(default)s)",
    )
    parser.add_argument("--keep-holes", action="store_true", help="the piece's holes go through the plate too")


def run(arguments: argparse.Namespace) -> int:
    """Make and write. Returns the exit code; raises TainError for the caller to say."""
    plan, stock = job_and_stock(arguments)
    plate = backer(
        finished_region(plan.layers),
        margin_mm=arguments.margin,
        join=arguments.join,
        bridge_mm=arguments.web,
        line_inset_mm=arguments.inset,
        keep_holes=arguments.keep_holes,
    )
    write_made([(arguments.output, backer_job(plan, plate, stock))], force=arguments.force)
    x0, y0, x1, y1 = plate.region.bounds
    if arguments.json:
        data = {"width_mm": x1 - x0, "height_mm": y1 - y0, "area_mm2": plate.region.area, "grown_mm": plate.grown_mm}
        data |= {"bridges": plate.bridges, "unlined": plate.unlined, "line_mm": plate.lines.length}
        print(json.dumps(data))
        return 0
    joined = f", {plate.bridges} bridges" if plate.bridges else ""
    joined += f", gaps closed up to {2 * plate.grown_mm:.1f} mm" if plate.grown_mm else ""
    print(f"{x1 - x0:.1f} x {y1 - y0:.1f} mm of {stock.name}{joined}")
    if plate.unlined:
        print(f"{plate.unlined} parts of the upper piece are too thin to hide a line")
    print(f"wrote {arguments.output}: the face that is glued lies up on the bed")
    return 0
