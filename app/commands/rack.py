"""``tain rack``: pieces of sheet, their flaws, what a job left of them."""

import argparse
import json
import re
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import shapely

from app.commands.actions import Action, add_actions, run_action
from app.commands.files_in import add_settings_argument, opened_job
from app.commands.lengths import length_mm
from core.errors import JobError, UnreadableError
from core.job.as_data import to_data
from core.job.burned import cut_away, marked_region
from core.job.job import Job
from core.job.prepare import plan_steps
from core.output.label_file import label_svg
from core.output.mask_files import MaskFile, write_files
from core.sheet.batches import Batch
from core.sheet.flaws import flaw_region
from core.sheet.offcuts import (
    FILMS,
    Piece,
    check_flaw,
    checked_piece,
    piece_region,
    rectangle,
    sheet_of,
)
from core.sheet.piece_given import outline_in, points_mm
from core.sheet.placement import Flaw, Turn
from core.sheet.remainders import LEAST_SIDE_MM, remainders, usable_rectangles
from core.shop_book.entries import Entry
from core.shop_book.rack import (
    KIND,
    add_piece,
    as_thick,
    held_whole,
    piece_named,
    piece_of_job,
    put_back,
    undo_put_back,
)
from core.shop_book.reserving import check_free, give_back, names_of, reserve
from core.shop_book.store import ShopBook
from core.units import parse_length_mm, parse_sheet_size_mm

SUMMARY = "The rack: full sheets and offcuts, their flaws, what a job left of them."
EXAMPLES = (
    "tain rack add A4 --size 600x300x3 --stock 'mirrored acrylic 3 mm'",
    "tain rack flaw A4 line '40,12 52,30' --from back",
    "tain rack done placed.tain",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The sub-commands of ``tain rack`` and their arguments."""
    add_actions(parser, ACTIONS)


def run(arguments: argparse.Namespace) -> int:
    """Do the action. Returns the exit code; raises TainError for the caller to say."""
    return run_action(arguments, ACTIONS)


def piece_data(entry: Entry) -> dict[str, Any]:
    """A piece for JSON, with its area and its usable rectangles."""
    region = piece_region(entry.value)
    return {
        "id": entry.uuid,
        "name": entry.name,
        "note": entry.note,
        "area_mm2": region.area,
        "usable_mm": [list(bounds) for bounds in usable_rectangles(region)],
        "piece": to_data(entry.value),
    }


def piece_words(entry: Entry) -> str:
    """A piece on one line."""
    piece: Piece = entry.value
    region = piece_region(piece)
    _, _, width_mm, height_mm = region.bounds
    share = region.area / (width_mm * height_mm)
    words = [f"{entry.name:<12} {width_mm:>6.0f} x {height_mm:<4.0f} mm  {piece.stock}"]
    words.append("full sheet" if piece.full else "plain" if share > 1 - 1e-9 else f"{100 * share:.0f} % of its box")
    if piece.flaws:
        words.append("1 flaw" if len(piece.flaws) == 1 else f"{len(piece.flaws)} flaws")
    words += [f"worth {piece.price:.2f}"] if piece.price else []
    words += [piece.where] if piece.where else []
    words += [f"kept for {piece.reserved_for}"] if piece.reserved_for else []
    return ", ".join(words)


# --- looking ---------------------------------------------------------------------------------------------------------


def _add_list(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--stock", help="only of this stock, or enough of its name")
    parser.add_argument("--json", action="store_true")


def _list(book: ShopBook, arguments: argparse.Namespace) -> int:
    wanted = (arguments.stock or "").casefold()
    entries = [entry for entry in book.entries(KIND) if wanted in entry.value.stock.casefold()]
    if arguments.json:
        print(json.dumps({"pieces": [piece_data(entry) for entry in entries]}, ensure_ascii=False, allow_nan=False))
    else:
        print("\n".join(piece_words(entry) for entry in entries) or "The rack is empty: tain rack add NAME --size ...")
    return 0


def _add_name(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", help="the piece's label, or enough of it")


def _add_show(parser: argparse.ArgumentParser) -> None:
    _add_name(parser)
    parser.add_argument("--json", action="store_true")


def _show(book: ShopBook, arguments: argparse.Namespace) -> int:
    entry = book.find(KIND, arguments.name)
    piece: Piece = entry.value
    if arguments.json:
        print(json.dumps(piece_data(entry), ensure_ascii=False, indent=1, allow_nan=False))
        return 0
    print(piece_words(entry))
    print(f"  film: front {piece.film_front}, back {piece.film_back}")
    for x0, y0, x1, y1 in usable_rectangles(piece_region(piece)):
        print(f"  usable {x1 - x0:.0f} x {y1 - y0:.0f} mm from {x0:.0f}, {y0:.0f}")
    for number, flaw in enumerate(piece.flaws, start=1):
        at = "  ".join(f"{x:.1f},{y:.1f}" for x, y in flaw.points[:4])
        more = " ..." if len(flaw.points) > 4 else ""
        print(f"  flaw {number}: {flaw.kind} in/on the {flaw.surface}, noted from the {flaw.noted_from}: {at}{more} "
              f"{flaw.note}".rstrip())  # fmt: skip
    return 0


# --- adding ----------------------------------------------------------------------------------------------------------


def _add_add(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", help="what its label says")
    shape = parser.add_mutually_exclusive_group(required=True)
    shape.add_argument("--size", metavar="600x300x3", help="a rectangle: width x height x thickness")
    shape.add_argument("--corners", metavar="'0,0 120,0 90,80'", help="its corners in order, seen from the front, mm")
    shape.add_argument("--outline", type=Path, metavar="FILE", help="SVG or DXF whose outermost line is its outline")
    parser.add_argument("--hole", action="append", default=[], metavar="'X,Y X,Y X,Y'", help="corners of a hole")
    parser.add_argument("--stock", required=True, help="its stock, or enough of the name")
    parser.add_argument("--film-front", choices=FILMS, default="unknown")
    parser.add_argument("--film-back", choices=FILMS, default="unknown")
    parser.add_argument("--supplier", default="", help="who delivered it; supplier, delivery and colour tell a batch")
    parser.add_argument("--delivery", default="", help="which delivery: a date or a number")
    parser.add_argument("--colour", default="", help="colour of the mirror")
    parser.add_argument("--price", type=float, default=0.0, help="what it is worth")
    parser.add_argument("--where", default="", help="shelf or slot")
    parser.add_argument("--full", action="store_true", help="a sheet as bought")
    parser.add_argument("--note", default="")


def _add(book: ShopBook, arguments: argparse.Namespace) -> int:
    stock = book.find("stock", arguments.stock).value
    thickness_mm = stock.thickness_mm
    if arguments.size:
        width_mm, height_mm, given_mm = parse_sheet_size_mm(arguments.size)
        thickness_mm = given_mm or thickness_mm
        outline = rectangle(width_mm, height_mm)
    elif arguments.corners:
        outline = (points_mm(arguments.corners),)
    else:
        outline = outline_in(arguments.outline)
    outline = (*outline, *(points_mm(text) for text in arguments.hole))
    piece = Piece(
        stock=stock.name,
        thickness_mm=thickness_mm,
        outline=outline,
        batch=Batch(supplier=arguments.supplier, delivery=arguments.delivery, colour=arguments.colour),
        film_front=arguments.film_front,
        film_back=arguments.film_back,
        price=arguments.price,
        where=arguments.where,
        full=arguments.full,
        note=arguments.note,
    )
    print(f"added {piece_words(add_piece(book, arguments.name, piece))}")
    if abs(thickness_mm - stock.thickness_mm) > 0.05 * stock.thickness_mm:
        other = f"{stock.name} is {stock.thickness_mm:g} mm"
        print(f"note: it is {thickness_mm:g} mm thick, {other}: its recipes may not hold.", file=sys.stderr)
    return 0


# --- flaws -----------------------------------------------------------------------------------------------------------


def _add_flaw(parser: argparse.ArgumentParser) -> None:
    _add_name(parser)
    parser.add_argument("kind", choices=("point", "line", "patch", "remove"))
    parser.add_argument("places", help="where: '40,12' or '40,12 52,30', mm; the number of the flaw for remove")
    parser.add_argument("--width", default="1", help="of a line, diameter of a point, mm")
    parser.add_argument("--surface", choices=("coat", "clear-face"), default="coat")
    parser.add_argument("--from", dest="noted_from", choices=("front", "back"), default="front")
    parser.add_argument(
        "--turn", choices=("sideways", "endways"), default="sideways", help="how it was turned to see its back"
    )
    parser.add_argument("--note", default="")


def _flaw(book: ShopBook, arguments: argparse.Namespace) -> int:
    entry = book.find(KIND, arguments.name)
    piece: Piece = entry.value
    if arguments.kind == "remove":
        number = int(arguments.places) if arguments.places.isascii() and arguments.places.isdecimal() else 0
        if not 1 <= number <= len(piece.flaws):
            raise UnreadableError(f"{entry.name} has no flaw {arguments.places}.", hint="tain rack show names them.")
        flaws = piece.flaws[: number - 1] + piece.flaws[number:]
        said = f"{entry.name}: flaw {number} is taken off"
    else:
        flaw = Flaw(
            kind=arguments.kind,
            points=points_mm(arguments.places),
            width_mm=parse_length_mm(arguments.width),
            surface=arguments.surface.replace("-", " "),
            noted_from=arguments.noted_from,
            turn=arguments.turn,
            note=arguments.note,
        )
        check_flaw(flaw)
        if flaw_region(flaw, sheet_of(piece)).disjoint(piece_region(piece)):
            raise UnreadableError(
                f"That lies beside {entry.name}.", hint="Measure from the top left of its box, in mm."
            )
        flaws = (*piece.flaws, flaw)
        said = f"{entry.name}: flaw {len(flaws)} noted"
    book.change(entry.uuid, checked_piece(replace(piece, flaws=flaws)), note=said.split(": ")[1])
    print(said)
    return 0


# --- taking ----------------------------------------------------------------------------------------------------------


def _remove(book: ShopBook, arguments: argparse.Namespace) -> int:
    entry = book.find(KIND, arguments.name)
    book.remove(entry.uuid, note="taken off the rack")
    print(f"removed {entry.name}; bring it back with: tain rack undo {entry.uuid}")
    return 0


def _add_reserve(parser: argparse.ArgumentParser) -> None:
    _add_name(parser)
    parser.add_argument("job", help="the job that it is kept for: its file, or a name")


def _reserve(book: ShopBook, arguments: argparse.Namespace) -> int:
    entry = reserve(book, piece_named(book, arguments.name).uuid, Path(arguments.job).stem)
    print(f"{entry.name} is kept for {entry.value.reserved_for} until it is done or given back")
    return 0


def _give_back(book: ShopBook, arguments: argparse.Namespace) -> int:
    entry = give_back(book, piece_named(book, arguments.name).uuid)
    print(f"{entry.name} is free for any job again")
    return 0


def _add_done(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "job", type=Path, nargs="+", metavar="JOB", help="the jobs that were cut, placed on one piece of the rack"
    )
    parser.add_argument("--piece", metavar="NAME", help="the piece, where the job does not say")
    parser.add_argument(
        "--least",
        type=length_mm(),
        default=f"{LEAST_SIDE_MM:g}",
        metavar="MM",
        help="keep what holds a square of this side",
    )
    parser.add_argument("--labels", type=Path, metavar="DIR", help="write a label to score for each offcut")
    add_settings_argument(parser)
    parser.add_argument("--force", action="store_true", help="overwrite files that exist")


def _done(book: ShopBook, arguments: argparse.Namespace) -> int:
    if len({path.resolve() for path in arguments.job}) < len(arguments.job):
        raise UnreadableError("The same job is named twice.", hint="Name each once.")
    jobs = [opened_job(path, arguments) for path in arguments.job]
    first = arguments.job[0]
    if not (arguments.piece or jobs[0].piece_id):
        raise JobError(f"{first.name} lies on no piece of the rack.", hint="Name one: --piece NAME.")
    if len({job.piece_id for job in jobs}) > 1:
        raise JobError("These jobs lie on different pieces.", hint="Mark them done one by one.")
    least_mm = arguments.least
    entry = piece_named(book, arguments.piece) if arguments.piece else piece_of_job(book, jobs[0].piece_id)
    for path, job in zip(arguments.job, jobs, strict=True):
        _check_cut_from(path, job, entry)
    check_free(entry.name, entry.value, [name for path, job in zip(arguments.job, jobs, strict=True)
                                         for name in names_of(job, path)])  # fmt: skip
    plans = [next(plan_steps(job)) for job in jobs]
    taken = shapely.union_all([cut_away(plan) for plan in plans])
    if not held_whole(entry.value, taken):
        raise JobError(f"The job does not lie whole on {entry.name}.", hint=f"tain place {first} --piece NAME -o ...")
    left = remainders(
        entry.value,
        taken,
        marked=shapely.union_all([marked_region(plan) for plan in plans]),
        least_side_mm=least_mm,
        note=f"left of {entry.name}",
    )
    entries = put_back(book, entry.uuid, left, job_name=", ".join(path.stem for path in arguments.job))
    print(f"{entry.name} was used: {left.taken.area / 100:.0f} cm² taken, {left.waste.area / 100:.0f} cm² waste")
    print("\n".join(f"added {piece_words(one)}" for one in entries) or "nothing worth keeping is left")
    print(f"undo it with: tain rack undo {entry.uuid}")
    if arguments.labels:
        paths = write_files(_labels(entries, jobs[0].turn), arguments.labels, overwrite=arguments.force)
        print("\n".join(f"wrote {path}" for path in paths))
        print("A scored label takes coat off: note it with tain rack flaw.")
    return 0


def _check_cut_from(path: Path, job: Job, entry: Entry) -> None:
    """Raises JobError where a job can't have been cut from the piece as it stands on the rack."""
    piece: Piece = entry.value
    if not as_thick(piece, job.sheet.thickness_mm):
        raise JobError(
            f"{path.name} is for a sheet of {job.sheet.thickness_mm:g} mm, {entry.name} is {piece.thickness_mm:g} mm.",
            hint=f"Name the piece it was cut from, or lay it on this one: tain place {path} --piece NAME -o ...",
        )
    if piece.stock != job.stock.name:
        print(f"note: {path.name} is for {job.stock.name}, {entry.name} is {piece.stock}.", file=sys.stderr)


def _labels(entries: tuple[Entry, ...], turn: Turn) -> list[MaskFile]:
    names = [re.sub(r"[^\w-]+", "-", entry.name) for entry in entries]
    return [
        MaskFile(name=f"label-{name}.svg", data=label_svg(entry.value, entry.name, turn))
        for name, entry in zip(names, entries, strict=True)
    ]


def _add_undo(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("piece", help="the piece that was used, by label or id")


def _undo(book: ShopBook, arguments: argparse.Namespace) -> int:
    gone = [e for e in book.entries(KIND, removed=True) if arguments.piece in (e.uuid, e.name)]
    if not gone:
        raise JobError(f"No piece “{arguments.piece}” was used or removed.", hint="Name it as its label does.")
    entry = undo_put_back(book, max(gone, key=lambda entry: entry.stamp).uuid)
    print(f"back on the rack: {piece_words(entry)}")
    return 0


ACTIONS = {
    "list": Action("what is on the rack", _add_list, _list),
    "show": Action("one piece: usable rectangles and flaws", _add_show, _show),
    "add": Action("put a sheet or an offcut on the rack", _add_add, _add),
    "flaw": Action("note a scratch, chip or stain, or take one off", _add_flaw, _flaw),
    "reserve": Action("keep a piece for a job until it is done or given back", _add_reserve, _reserve),
    "give-back": Action("a piece that was kept for a job is free again", _add_name, _give_back),
    "remove": Action("take a piece off the rack", _add_name, _remove),
    "done": Action("a job was cut: the piece becomes what is left of it", _add_done, _done),
    "undo": Action("put a used or removed piece back as it was", _add_undo, _undo),
}
