"""``tain stop``: a corner stop, a nest for blanks, holes for pins; and what a shift would show."""

import argparse
import json
from pathlib import Path

from app.commands.lengths import count, length_mm
from app.commands.made_jobs import add_job_arguments, job_and_stock, write_made
from core.errors import UnreadableError
from core.job.burned import finished_region
from core.job.companions import USUAL_CLEARANCE_MM, USUAL_MM
from core.job.jigs import blank_play, corner_stop_job, nest_job, pin_jobs, slivers_shown
from core.output.export import check_suffix

SUMMARY = "Stops that put a sheet or a blank in the same place: a corner stop, a nest, pins."
EXAMPLES = (
    "tain stop corner sign.tain -o corner.svg",
    "tain stop nest sign.tain -o nest.svg --count 4",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain stop``."""
    parser.add_argument(
        "kind",
        choices=("corner", "nest", "pins"),
        help="an angle for the sheet's corner, a frame for ready-cut blanks, or holes for pins in the sheet",
    )
    add_job_arguments(parser, output="the stop; for pins the holes in the sheet (.svg, .dxf or .tain)")
    parser.add_argument("--board", type=Path, metavar="OUT", help="pins: the board that they stand in")
    parser.add_argument(
        "--pin",
        type=length_mm(),
        default=f"{USUAL_MM['pin']:g}",
        metavar="MM",
        help="diameter of the pins (%(default)s)",
    )
    parser.add_argument(
        "--clearance",
        type=length_mm(),
        metavar="MM",
        help=f"round a blank ({USUAL_CLEARANCE_MM['nest']:g}), or hole less pin ({USUAL_CLEARANCE_MM['pins']:g})",
    )
    parser.add_argument("--count", type=count, default=1, metavar="N", help="nest: blanks in a row")
    parser.add_argument(
        "--arm",
        type=length_mm(),
        default=f"{USUAL_MM['arm']:g}",
        metavar="MM",
        help="corner: length of the arms (%(default)s)",
    )
    parser.add_argument(
        "--width",
        type=length_mm(),
        default=f"{USUAL_MM['width']:g}",
        metavar="MM",
        help="corner: width of the arms (%(default)s)",
    )


def run(arguments: argparse.Namespace) -> int:
    """Make and write. Returns the exit code; raises TainError for the caller to say."""
    plan, stock = job_and_stock(arguments)
    clearance_mm = arguments.clearance
    if arguments.kind == "corner":
        job = corner_stop_job(
            plan.job,
            stock,
            arm_mm=arguments.arm,
            width_mm=arguments.width,
        )
        files, play = [(arguments.output, job)], None
    elif arguments.kind == "nest":
        round_mm = USUAL_CLEARANCE_MM["nest"] if clearance_mm is None else clearance_mm
        files = [(arguments.output, nest_job(plan, stock, clearance_mm=round_mm, count=arguments.count))]
        play = blank_play(plan, round_mm)
    else:
        if arguments.board is None:
            raise UnreadableError("Pins stand in a board.", hint="Say where to write it: --board BOARD.svg")
        check_suffix(arguments.board)
        pins, in_sheet, board = pin_jobs(
            plan,
            stock,
            pin_mm=arguments.pin,
            clearance_mm=USUAL_CLEARANCE_MM["pins"] if clearance_mm is None else clearance_mm,
        )
        files, play = [(arguments.output, in_sheet), (arguments.board, board)], pins.play
    write_made(files, force=arguments.force)
    off_mm = play.farthest_mm(finished_region(plan.layers)) if play else 0.0
    free = play is not None and play.turns_freely
    sliver_mm2 = slivers_shown(plan, play).area_mm2 if play and not free else 0.0
    if arguments.json:
        data = {"kind": arguments.kind, "off_mm": off_mm, "sliver_mm2": None if free else sliver_mm2}
        data |= {"turn_deg": play.most_turn_deg if play else 0.0, "turns_freely": free}
        print(json.dumps(data | {"files": [str(path) for path, _ in files]}, ensure_ascii=False))
        return 0
    print("\n".join(f"wrote {path}" for path, _ in files))
    if free:
        print(f"It can shift by {off_mm:.3f} mm and turn freely: for a second pass take pins or marks")
    elif play is not None and off_mm:
        print(
            f"It can lie {off_mm:.3f} mm off its place, turned by up to {play.most_turn_deg:.2f} degrees; a second "
            f"pass leaves up to {sliver_mm2:.2f} mm² of slivers then"
        )
    return 0
