"""``tain place``: a job on a piece of the rack, where no flaw shows and most is left."""

import argparse
import json
from pathlib import Path
from typing import Any

from core.errors import JobError, UnreadableError
from core.job.decisions import with_stock
from core.job.fitting import job_footprint, with_piece, with_place
from core.job.job import Job
from core.job.job_file import save_job
from core.job.plan import Plan
from core.job.prepare import plan_steps
from core.sheet.choosing import Choice, choices
from core.sheet.placing import FREE_ANGLES_DEG, RIGHT_ANGLES_DEG, PlacingOptions
from core.shop_book.beginning import begin_job
from core.shop_book.rack import KIND, rack_pieces
from core.shop_book.store import ShopBook, open_book
from core.units import parse_length_mm

SUMMARY = "Which piece of the rack, and where on it, so that no flaw shows and most is left."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain place``."""
    parser.add_argument("job", type=Path, metavar="JOB", help="a job (.tain) or artwork")
    parser.add_argument("--piece", metavar="ID", help="label or id of the piece; without it all that serve are ranked")
    parser.add_argument("--stock", help="the stock, where the job's own is not meant")
    parser.add_argument("--free", action="store_true", help="turn by any 5 degrees, not by right angles only")
    parser.add_argument("--fixed", action="store_true", help="do not turn the job")
    parser.add_argument("--edge", default="0", metavar="MM", help="keep this free along the piece's edge")
    parser.add_argument("--doubt", default="0.5", metavar="MM", help="how far a flaw may lie from where it was noted")
    parser.add_argument("-o", "--output", type=Path, metavar="OUT.tain", help="write the job, placed on the best piece")
    parser.add_argument("--json", action="store_true", help="print as JSON")
    parser.add_argument("--force", action="store_true", help="overwrite a file that exists")


def run(arguments: argparse.Namespace) -> int:
    """Place and write. Returns the exit code; raises TainError for the caller to say."""
    if arguments.output is not None and arguments.output.suffix != ".tain":
        raise UnreadableError(f"{arguments.output} is no job file.", hint="Write to a name that ends in .tain.")
    with open_book() as book:
        plan, found = _found(book, arguments)
        if arguments.json:
            print(json.dumps({"choices": [choice_data(choice) for choice in found]}, ensure_ascii=False, indent=1))
        else:
            print("\n".join(choice_words(choice) for choice in found))
        best = found[0]
        if best.placed is None:
            raise JobError(
                f"Nothing fits: {best.name} is nearest and would have to be {best.lacks_mm:.1f} mm larger all round.",
                hint="Take a larger piece, or try --free.",
            )
        if arguments.output is not None:
            job = with_piece(plan.job, book.entry(best.piece_id).value, best.piece_id, plan.job.stock)
            save_job(with_place(job, best.placed), arguments.output, overwrite=arguments.force)
            if not arguments.json:
                print(f"wrote {arguments.output}, on {best.name}")
    return 0


def choice_data(choice: Choice) -> dict[str, Any]:
    """A choice for JSON."""
    placed = choice.placed
    return {
        "id": choice.piece_id,
        "name": choice.name,
        "fits": placed is not None,
        "x_mm": placed.x_mm if placed else None,
        "y_mm": placed.y_mm if placed else None,
        "rotation_deg": placed.rotation_deg if placed else None,
        "shown_mm2": placed.shown_mm2 if placed else None,
        "rest_mm2": placed.rest_mm2 if placed else None,
        "cost": choice.cost,
        "used_mm2": choice.used_mm2,
        "kept_mm2": choice.kept_mm2,
        "lacks_mm": choice.lacks_mm,
    }


def choice_words(choice: Choice) -> str:
    """A choice on one line."""
    placed = choice.placed
    if placed is None:
        return f"{choice.name:<12} too small by {choice.lacks_mm:.1f} mm all round"
    shows = f"{placed.shown_mm2:.2f} mm² of flaws show" if placed.shown_mm2 else "no flaw shows"
    return (
        f"{choice.name:<12} at {placed.x_mm:.2f}, {placed.y_mm:.2f}, turned {placed.rotation_deg:g} degrees: {shows}, "
        f"cost {choice.cost:.2f}, {choice.used_mm2 / 100:.0f} cm² used up, {choice.kept_mm2 / 100:.0f} cm² kept"
    )


def _found(book: ShopBook, arguments: argparse.Namespace) -> tuple[Plan, tuple[Choice, ...]]:
    """The job worked out on its stock, and the pieces for it, best first. Raises JobError where there are none."""
    job: Job = begin_job(arguments.job)[0]
    pieces = rack_pieces(book)
    if arguments.piece:
        by_id = [one for one in pieces if one[0] == arguments.piece]
        entry = book.entry(arguments.piece) if by_id else book.find(KIND, arguments.piece)
        pieces = ((entry.uuid, entry.name, entry.value),)
        job = _on_stock(book, job, entry.value.stock)
    if arguments.stock:
        job = _on_stock(book, job, arguments.stock)
    plan = next(plan_steps(job))
    if arguments.piece:
        thickness_mm = pieces[0][2].thickness_mm
    else:
        thickness_mm = job.stock.thickness_mm
    angles = FREE_ANGLES_DEG if arguments.free else (0.0,) if arguments.fixed else RIGHT_ANGLES_DEG
    options = PlacingOptions(
        edge_mm=parse_length_mm(arguments.edge), flaw_doubt_mm=parse_length_mm(arguments.doubt), angles_deg=angles
    )
    found = choices(
        pieces,
        job_footprint(plan),
        stock=job.stock.name,
        thickness_mm=thickness_mm,
        options=options,
        has_coat=bool(job.stock.coat),
    )
    if not found:
        raise JobError(
            f"There is no {job.stock.name} on the rack.", hint="Put a piece there: tain rack add NAME --size ..."
        )
    return plan, found


def _on_stock(book: ShopBook, job: Job, name: str) -> Job:
    """The job on that stock of the book; its recipes stay where it is the job's own already."""
    if job.stock.name == name:
        return job
    return with_stock(job, book.find("stock", name).value)
