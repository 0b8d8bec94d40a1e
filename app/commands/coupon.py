"""``tain coupon``: a test piece that fits the offcut at hand, with its settings and its sheet of expected looks."""

import argparse
import json
from datetime import date
from functools import partial
from pathlib import Path

from app.commands.outputs import add_outputs
from core.atomic import write_atomically
from core.burning.batches import of_batch
from core.burning.coupon import COUPON_KINDS
from core.burning.coupons import make_coupon
from core.burning.machines import Machine
from core.encodable import encodable
from core.errors import JobError, UnreadableError
from core.finishing.paints import Paint
from core.job.as_data import to_data
from core.job.coupon_job import coupon_job
from core.job.painting.stacks import painted_scrap
from core.job.prepare import prepare
from core.output.export import check_suffix, export_bytes, problems
from core.output.looks_sheet import looks_sheet_svg, looks_text
from core.sheet.batches import Batch
from core.sheet.faces import TURNS
from core.shop_book.coupons_kept import keep_coupon
from core.shop_book.profiles import known_paints
from core.shop_book.store import ShopBook, open_book
from core.units import duration_text, parse_sheet_size_mm

SUMMARY = "A coupon: test patches for an offcut, labelled, with settings and expected looks; kept in the shop book."
EXAMPLES = ("tain coupon pitch-ladder -o coupon.svg --fit 120x80 --looks looks.svg",)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain coupon``."""
    kinds = "; ".join(f"{kind}: {words}" for kind, words in COUPON_KINDS.items())
    parser.add_argument("kind", choices=tuple(COUPON_KINDS), metavar="KIND", help=kinds)
    add_outputs(parser)
    parser.add_argument(
        "--fit", default="120x80", metavar="120x80", help="size of the offcut, mm unless said otherwise"
    )
    parser.add_argument("--stock", default="mirrored acrylic 3 mm", metavar="NAME", help="a stock of the shop book")
    parser.add_argument("--machine", metavar="NAME", help="a machine of the shop book")
    parser.add_argument("--supplier", default="", help="who delivered the sheet; with delivery and colour: its batch")
    parser.add_argument("--delivery", default="", help="which delivery: a date or a number")
    parser.add_argument("--colour", default="", help="colour of the mirror")
    parser.add_argument(
        "--paints", default="", metavar="NAME,NAME", help="painted-scrap: paints by name, first painted first"
    )
    parser.add_argument("--read-from", choices=("front", "back"), default="front", help="the side labels are read from")
    parser.add_argument("--turn", choices=TURNS, default="sideways", help="how the sheet is turned over")
    parser.add_argument("--looks", type=Path, metavar="LOOKS.svg", help="write the sheet of expected looks there")
    parser.add_argument("--json", action="store_true", help="print the coupon as JSON")
    parser.add_argument("--force", action="store_true", help="overwrite files that exist")


def _paint(name: str) -> Paint:
    """The shop's paint of that name, a starting one where the shop has none yet. Raises UnreadableError."""
    known = {paint.name.casefold(): paint for paint in known_paints()}
    if name.casefold() not in known:
        raise UnreadableError(
            f"There is no paint “{name}”.", hint=f"There are: {'; '.join(one.name for one in known.values())}."
        )
    return known[name.casefold()]


def run(arguments: argparse.Namespace) -> int:
    """Make, write and keep the coupon. Returns the exit code; raises TainError for the caller to say."""
    for path in arguments.output:
        check_suffix(path)
    if arguments.looks and arguments.looks.suffix.lower() != ".svg":
        raise UnreadableError(f"{arguments.looks.name} is no SVG.", hint="End the name of the looks in .svg.")
    width_mm, height_mm, _ = parse_sheet_size_mm(arguments.fit)
    with open_book() as book:
        stock = of_batch(
            book.find("stock", arguments.stock).value,
            Batch(**{part: encodable(getattr(arguments, part)) for part in ("supplier", "delivery", "colour")}),
        )
        machine = machine_named(book, arguments.machine)
        paints = tuple(_paint(name.strip()) for name in arguments.paints.split(",") if name.strip())
        make = partial(painted_scrap, paints=paints) if paints else partial(make_coupon, arguments.kind)
        if bool(paints) != (arguments.kind == "painted-scrap"):
            raise UnreadableError(
                "A painted scrap needs its paints named, and no other coupon has any.", hint="Say --paints navy,gold."
            )
        coupon = make(
            stock=stock,
            machine=machine,
            width_mm=width_mm,
            height_mm=height_mm,
            read_from=arguments.read_from,
            turn=arguments.turn,
            made=date.today().isoformat(),
        )
        plan = prepare(coupon_job(coupon))
        if stopping := problems(plan):
            raise JobError(f"Nothing was written: {stopping[0].message}")
        files = [(path, export_bytes(plan, path.suffix.lower())) for path in arguments.output]
        if arguments.looks:
            files.append((arguments.looks, looks_sheet_svg(coupon)))
        for path, data in files:
            write_atomically(path, data, overwrite=arguments.force)
        keep_coupon(book, coupon)
    if arguments.json:
        print(json.dumps({**to_data(coupon), "time_s": plan.time_s}, ensure_ascii=False, indent=1, allow_nan=False))
        return 0
    print(looks_text(coupon))
    print(f"run time {duration_text(plan.time_s)}")
    print("Before it is burned:")
    print("\n".join(f"  [ ] {caution.message}" for caution in plan.cautions))
    print("\n".join(f"wrote {path}" for path, _ in files))
    print(f"Afterwards: tain book read {coupon.code} --help")
    return 0


def machine_named(book: ShopBook, name: str | None) -> Machine:
    """The machine of that name, or, unnamed, the book's only one or the starting flatbed."""
    if name is None:
        machines = book.values("machine")
        name = machines[0].name if len(machines) == 1 else "CO2 flatbed 100 W"
    machine: Machine = book.find("machine", name).value
    return machine
