"""``tain place``: a job, its copies, or several designs on a piece of the rack; no flaw shows, most is left."""

import argparse
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from app.commands.files_in import add_settings_argument, opened_job
from app.commands.lengths import count, length_mm
from core.burning.run_time import TimeRange
from core.errors import JobError, UnreadableError
from core.job.copying import USUAL_SPACING_MM, copies_on_sheet, jobs_on_sheet, with_copies
from core.job.decisions import with_stock
from core.job.fitting import job_footprint, with_piece, with_place
from core.job.job import Job
from core.job.job_file import save_job
from core.job.on_bed import closed_on, placing_options
from core.job.place_offers import AIMS, Aim, options_for
from core.job.place_told import told_of_place, told_of_plan
from core.job.prepare import plan_steps
from core.job.timing import range_text
from core.job.turned_time import time_if_at
from core.sheet.choosing import Choice, choices
from core.sheet.copies import Layout
from core.sheet.ground import FREE_ANGLES_DEG, RIGHT_ANGLES_DEG, Footprint, Placed, PlacingOptions
from core.sheet.offcuts import Piece, piece_region, sheet_of
from core.shop_book.rack import KIND, rack_pieces
from core.shop_book.reserving import check_free, names_of, reserve
from core.shop_book.store import ShopBook, open_book

SUMMARY = "Which piece of the rack, and where on it, so that no flaw shows and most is left; copies; several designs."
EXAMPLES = (
    "tain place sign.tain --edge 5",
    "tain place sign.tain --piece A4 --copies 6 -o placed.tain",
)

Rack = tuple[tuple[str, str, Piece], ...]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain place``."""
    parser.add_argument(
        "job", type=Path, nargs="+", metavar="JOB", help="a job (.tain) or artwork; several share a piece"
    )
    parser.add_argument("--piece", metavar="ID", help="label or id of the piece; without it all that serve are ranked")
    parser.add_argument("--stock", help="the stock, where the job's own is not meant")
    parser.add_argument("--free", action="store_true", help="turn by any 5 degrees, not by right angles only")
    parser.add_argument("--fixed", action="store_true", help="do not turn the job")
    parser.add_argument(
        "--aim",
        choices=[aim.replace(" ", "-") for aim in AIMS],
        default="least-flaws",
        help="what the place is to be best at (%(default)s)",
    )
    parser.add_argument(
        "--edge",
        type=length_mm(),
        metavar="MM",
        help="keep this free along the piece's edge; without it the margin of machine and stock",
    )
    parser.add_argument(
        "--doubt", type=length_mm(), default="0.5", metavar="MM", help="how far a flaw may lie from where it was noted"
    )
    parser.add_argument("--copies", type=count, metavar="N", help="so many of the job, nested by their true shapes")
    parser.add_argument(
        "--spacing",
        type=length_mm(),
        default=USUAL_SPACING_MM,
        metavar="MM",
        help="between copies or designs (%(default)s)",
    )
    parser.add_argument("--rows", action="store_true", help="copies in rows and columns")
    parser.add_argument("--share-cuts", action="store_true", help="in rows: neighbours share one cut line")
    parser.add_argument(
        "-o",
        "--output",
        type=Path,
        action="append",
        default=[],
        metavar="OUT.tain",
        help="write the job, placed; for several designs once for each, in their order",
    )
    parser.add_argument("--reserve", action="store_true", help="keep the piece for the job that is written")
    add_settings_argument(parser)
    parser.add_argument("--json", action="store_true", help="print as JSON")
    parser.add_argument("--force", action="store_true", help="overwrite a file that exists")


def run(arguments: argparse.Namespace) -> int:
    """Place and write. Returns the exit code; raises TainError for the caller to say."""
    if arguments.reserve and (len(arguments.job) > 1 or not arguments.output):
        raise UnreadableError("A piece is kept for one job that is written.", hint="Give -o OUT.tain.")
    for path in arguments.output:
        if path.suffix != ".tain":
            raise UnreadableError(f"{path} is no job file.", hint="Write to a name that ends in .tain.")
    if arguments.output and len(arguments.output) != len(arguments.job):
        raise UnreadableError(
            f"{len(arguments.job)} designs, {len(arguments.output)} files to write.", hint="Give -o once for each."
        )
    with open_book() as book:
        if len(arguments.job) > 1:
            return _several(book, arguments)
        if arguments.copies is not None or arguments.rows or arguments.share_cuts:
            return _copies(book, arguments)
        return _one(book, arguments)


# --- one job ---------------------------------------------------------------------------------------------------------


def _one(book: ShopBook, arguments: argparse.Namespace) -> int:
    job, pieces = _on_rack(book, opened_job(arguments.job[0], arguments), arguments)
    plan = next(plan_steps(job))
    aim: Aim = arguments.aim.replace("-", " ")
    options, footprint = options_for(plan, _options(arguments, job), aim), job_footprint(plan)
    found = choices(
        pieces,
        footprint,
        stock=job.stock.name,
        thickness_mm=pieces[0][2].thickness_mm,
        options=options,
        has_coat=bool(job.stock.coat),
        closed_on=closed_on(job),
    )
    angles = {0.0, 90.0, *(choice.placed.rotation_deg for choice in found if choice.placed)}
    times = {angle: time_if_at(plan, angle) for angle in angles}
    if arguments.json:
        data = [choice_data(choice, footprint, times) for choice in found]
        print(json.dumps({"choices": data}, ensure_ascii=False, indent=1))
    else:
        print("\n".join(choice_words(choice, footprint, times) for choice in found))
    best = found[0]
    if best.placed is None:
        raise JobError(
            f"Nothing fits: {best.name} is nearest and would have to be {best.lacks_mm:.2f} mm larger all round.",
            hint="Take a larger piece, or try --free.",
        )
    if arguments.output:
        piece = book.entry(best.piece_id).value
        placed = with_place(with_piece(job, piece, best.piece_id, job.stock), best.placed)
        _write([placed], best.name, arguments)
        if arguments.reserve:
            reserve(book, best.piece_id, arguments.output[0].stem)
    return 0


def choice_data(choice: Choice, footprint: Footprint, times: Mapping[float, TimeRange]) -> dict[str, Any]:
    """A choice for JSON. ``times``: about how long the job runs, by how it is turned."""
    placed = choice.placed
    time = times[placed.rotation_deg] if placed else None
    told = told_of_place(footprint, placed) if placed else None
    return {
        "id": choice.piece_id,
        "name": choice.name,
        "fits": placed is not None,
        "x_mm": placed.x_mm if placed else None,
        "y_mm": placed.y_mm if placed else None,
        "rotation_deg": placed.rotation_deg if placed else None,
        "box_mm": list(told.box_mm) if told else None,
        "page_mm": list(told.page_mm) if told else None,
        "page_corner": told.page_corner if told else None,
        "shown_mm2": placed.shown_mm2 if placed else None,
        "rest_mm2": placed.rest_mm2 if placed else None,
        "time_s": time.best_s if time else None,
        "time_range_s": [time.least_s, time.most_s] if time else None,
        "longer_share": _longer_share(placed, times) if placed else None,
        "cost": choice.cost,
        "used_mm2": choice.used_mm2,
        "kept_mm2": choice.kept_mm2,
        "lacks_mm": choice.lacks_mm,
    }


def _longer_share(placed: Placed, times: Mapping[float, TimeRange]) -> float:
    """How much longer the job runs there than turned as it runs quickest by a quarter turn or none."""
    least_s = min(time.best_s for time in times.values())
    return times[placed.rotation_deg].best_s / least_s - 1 if least_s else 0.0


def choice_words(choice: Choice, footprint: Footprint, times: Mapping[float, TimeRange]) -> str:
    """A choice on two lines."""
    placed = choice.placed
    if placed is None:
        return f"{choice.name:<12} too small by {choice.lacks_mm:.2f} mm all round"
    shows = f"{placed.shown_mm2:.2f} mm² of flaws show" if placed.shown_mm2 else "no flaw shows"
    longer = _longer_share(placed, times)
    turned = f" ({longer * 100:.0f} % longer than turned as it runs quickest)" if longer >= 0.005 else ""
    return (
        f"{choice.name:<12} {shows}, runs about {range_text(times[placed.rotation_deg])}{turned}, "
        f"cost {choice.cost:.2f}, {choice.used_mm2 / 100:.0f} cm² used up, {choice.kept_mm2 / 100:.0f} cm² kept\n"
        f"{'':<12} {told_of_place(footprint, placed).words}"
    )


# --- copies, several designs -----------------------------------------------------------------------------------------


def _copies(book: ShopBook, arguments: argparse.Namespace) -> int:
    """As many copies as asked for on the piece, or on the smallest one that holds them all."""
    job, pieces = _on_rack(book, opened_job(arguments.job[0], arguments), arguments)
    count = 1 if arguments.copies is None else arguments.copies
    tried: list[tuple[str, Job, Layout]] = []
    for piece_id, name, piece in sorted(pieces, key=lambda one: piece_region(one[2]).area):
        there = with_piece(job, piece, piece_id, job.stock)
        layout = copies_on_sheet(
            there,
            count,
            way="rows" if arguments.rows else "nested",
            spacing_mm=arguments.spacing,
            share_cuts=arguments.share_cuts,
            options=_options(arguments, there),
        )
        tried.append((name, there, layout))
        if not layout.left_over:
            break
    name, there, layout = min(tried, key=lambda one: one[2].left_over)
    if layout.left_over:
        raise JobError(
            f"{name} holds most, {len(layout.copies)} of the {count} asked for.",
            hint=f"Ask for {len(layout.copies)}, or set them closer." if layout.copies else "Take a larger piece.",
        )
    if arguments.json:
        data = {"piece": name, "laid": len(layout.copies), "left_over": layout.left_over, "density": layout.density}
        print(json.dumps(data | {"width_mm": layout.width_mm, "height_mm": layout.height_mm}, ensure_ascii=False))
    else:
        size = f"{layout.width_mm:.0f} x {layout.height_mm:.0f} mm"
        copies = "1 copy" if len(layout.copies) == 1 else f"{len(layout.copies)} copies"
        print(f"{name}: {copies} on {size}, {100 * layout.density:.0f} % of it taken")
    if arguments.output:
        _write([with_copies(there, layout)], name, arguments)
        if arguments.reserve:
            reserve(book, there.piece_id, arguments.output[0].stem)
    return 0


def _several(book: ShopBook, arguments: argparse.Namespace) -> int:
    """Each design with its place on the same piece."""
    if not arguments.piece:
        raise UnreadableError("Several designs need a piece to share.", hint="Name it: --piece NAME")
    if arguments.copies is not None:
        raise UnreadableError("Copies are of one design.", hint="Place each design's copies first, then all together.")
    jobs = []
    for path in arguments.job:
        job, ((piece_id, name, piece),) = _on_rack(book, opened_job(path, arguments), arguments)
        jobs.append(with_piece(job, piece, piece_id, job.stock))
    placed = jobs_on_sheet(jobs, sheet_of(piece), spacing_mm=arguments.spacing, options=_options(arguments, jobs[0]))
    if arguments.json:
        places = [
            {"x_mm": job.placement.x_mm, "y_mm": job.placement.y_mm, "rotation_deg": job.placement.rotation_deg}
            for job in placed
        ]
        print(json.dumps({"piece": name, "places": places}, ensure_ascii=False))
    else:
        for path, job in zip(arguments.job, placed, strict=True):
            told = told_of_plan(next(plan_steps(job)))
            print(f"{path.name}: {told.words if told else 'nothing is burned'}")
    if arguments.output:
        _write(placed, name, arguments)
    return 0


def _write(jobs: Sequence[Job], name: str, arguments: argparse.Namespace) -> None:
    for job, path in zip(jobs, arguments.output, strict=True):
        save_job(job, path, overwrite=arguments.force)
        if not arguments.json:
            print(f"wrote {path}, on {name}")


def _options(arguments: argparse.Namespace, job: Job) -> PlacingOptions:
    angles = FREE_ANGLES_DEG if arguments.free else (0.0,) if arguments.fixed else RIGHT_ANGLES_DEG
    return placing_options(
        job,
        edge_mm=arguments.edge,
        flaw_doubt_mm=arguments.doubt,
        angles_deg=angles,
    )


def _on_rack(book: ShopBook, job: Job, arguments: argparse.Namespace) -> tuple[Job, Rack]:
    """The job on its stock, and the rack's pieces for it. Raises JobError where there are none."""
    names = tuple(name for path in arguments.job for name in names_of(job, path))
    pieces = rack_pieces(book, names=names)
    if arguments.piece:
        by_id = [one for one in book.entries(KIND) if one.uuid == arguments.piece]
        entry = by_id[0] if by_id else book.find(KIND, arguments.piece)
        check_free(entry.name, entry.value, names)
        pieces = ((entry.uuid, entry.name, entry.value),)
        job = _on_stock(book, job, entry.value.stock)
    if arguments.stock:
        job = _on_stock(book, job, arguments.stock)
    thickness_mm = pieces[0][2].thickness_mm if arguments.piece else job.stock.thickness_mm
    fits = tuple(
        one for one in pieces if one[2].stock == job.stock.name and abs(one[2].thickness_mm - thickness_mm) < 0.05
    )
    if not fits:
        raise JobError(
            f"There is no {job.stock.name} on the rack.", hint="Put a piece there: tain rack add NAME --size ..."
        )
    return job, fits


def _on_stock(book: ShopBook, job: Job, name: str) -> Job:
    """The job on that stock of the book; its recipes stay where it is the job's own already."""
    if job.stock.name == name:
        return job
    return with_stock(job, book.find("stock", name).value)
