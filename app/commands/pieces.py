"""``tain pieces``: one design, a list of names, as many sheets as it takes."""

import argparse
import sys
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from app.commands.files_in import begun_order
from app.commands.lengths import length_mm
from app.commands.prepare import add_job_arguments, decided_job
from app.commands.purposes import refuse_undecided, settled
from core.errors import JobError, UnreadableError
from core.job.costs.pricing import price, price_words, unpriced_words
from core.job.prepare import plan_steps
from core.job.timing import range_text
from core.order.fields import FITS, Field, Fit, Picked, check_field
from core.order.filling import field_names
from core.order.laying import MOST_SPACING_MM, Ground, rack_grounds
from core.order.list_reading import load_list
from core.order.order import WAYS, Order
from core.order.parts import with_matched_fields
from core.order.running import parse_running
from core.order.working_out import WorkedOrder, design_template, work_out
from core.output.orders.files import figures_text, gone_words, order_files, what_stops, write_order
from core.output.orders.reckoning import Taken, reckoned
from core.shop_book.rack import rack_pieces
from core.shop_book.shops_own import rates_of
from core.shop_book.store import open_book
from core.units import parse_length_mm

SUMMARY = "One design and a list of names: laid on as many sheets as it takes, with map, labels, run sheets."
EXAMPLES = (
    "tain pieces badge.svg --list club.csv -o badges --sheet 600x300x3 --fit name=narrower",
    "tain pieces tag.svg --numbers 'n=1 to 24' -o tags --rack --densest --marks",
    "tain pieces badges/order.tain --list club.csv -o again --force",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain pieces``."""
    parser.add_argument("artwork", type=Path, metavar="ART", help="a design (SVG, DXF), a job or an order (.tain)")
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="FOLDER", help="where all files go")
    parser.add_argument("--list", type=Path, metavar="LIST", help="names: CSV, TSV or XLSX")
    parser.add_argument("--header", choices=("yes", "no"), help="whether the list's first row names its columns")
    parser.add_argument(
        "--encoding", metavar="NAME", help="the encoding of a list that is not UTF-8: cp1250, shift_jis …"
    )
    parser.add_argument("--list-sheet", metavar="NAME", help="which sheet of a workbook holds the list")
    parser.add_argument(
        "--field",
        action="append",
        default=[],
        metavar="NAME=COLUMN",
        help="the column that fills a field; may be empty",
    )
    parser.add_argument(
        "--numbers",
        action="append",
        default=[],
        metavar="NAME=1 to 24",
        help="a field that numbers run in: 001 …, A to F",
    )
    parser.add_argument(
        "--fit",
        action="append",
        default=[],
        metavar="NAME=WAY[:LIMIT]",
        help=f"how long text is fitted: {', '.join(FITS)}; the limit in per cent",
    )
    parser.add_argument("--room", action="append", default=[], metavar="NAME=MM", help="how long a field's text may be")
    parser.add_argument(
        "--pick", action="append", default=[], metavar="N=NAME", help="make the design's N-th text a field (from 1)"
    )
    parser.add_argument("--count", metavar="COLUMN", help="the column that says how many of each row")
    parser.add_argument("--off", default="", metavar="ROW,ROW", help="rows that nothing is made of")
    parser.add_argument("--rack", action="store_true", help="lay on pieces of the rack, offcuts first")
    parser.add_argument("--densest", action="store_true", help="as densely as it goes, not row by row in list order")
    parser.add_argument(
        "--spacing", type=length_mm(most_mm=MOST_SPACING_MM), metavar="MM", help="between neighbouring parts"
    )
    parser.add_argument("--marks", action="store_true", help="score the parts' numbers into the waste")
    add_job_arguments(parser)
    parser.add_argument("--json", action="store_true", help="print pieces.json")
    parser.add_argument("--force", action="store_true", help="overwrite files that exist")


def run(arguments: argparse.Namespace) -> int:
    """Lay, work out and write. Returns the exit code; raises TainError for the caller to say."""
    order = order_from_arguments(arguments)
    with open_book() as book:
        rack = rack_pieces(book) if arguments.rack else ()
        rates = rates_of(book)
    grounds: tuple[Ground, ...] = ()
    if arguments.rack:
        grounds = rack_grounds(rack, order.design)
        if not grounds:
            raise JobError(
                f"No piece on the rack is {order.design.stock.name}, {order.design.sheet.thickness_mm:g} mm.",
                hint="See tain rack list, or name a sheet with --sheet.",
            )
    pieces = {uuid: piece for uuid, _, piece in rack}
    worked = work_out(order, grounds, pieces, progress=_progress)
    stopping = what_stops(worked)
    taken = reckoned(worked, rates, pieces)
    files = [] if stopping else order_files(worked, taken, pieces, progress=_progress)
    report = files[-1].data.decode() if files else figures_text(worked, taken, ())
    gone = write_order(files, arguments.output, overwrite=arguments.force) if files else ()
    print(report if arguments.json else _summary(worked, taken.whole, len(files), arguments.output))
    if gone:
        print(gone_words(gone), file=sys.stderr)
    if stopping:
        raise JobError(f"Nothing was written: {stopping[0]}")
    return 0


def order_from_arguments(arguments: argparse.Namespace) -> Order:
    """The order that the arguments describe. Raises UnreadableError, JobError."""
    order, problem = begun_order(arguments.artwork, arguments)
    order = replace(order, design=decided_job(order.design, arguments, problem))
    if arguments.pick:
        order = replace(order, picked=tuple(_picked(text) for text in arguments.pick))
    template = design_template(order)
    wanted = field_names(template)
    if not wanted:
        raise UnreadableError(
            f"{arguments.artwork.name} holds no field.",
            hint="Write one into its text, like {name}, or pick a text: --pick 1=name.",
        )
    if arguments.list is not None:
        header = None if arguments.header is None else arguments.header == "yes"
        columns = [text.partition("=")[2] for text in arguments.field]
        names = load_list(
            arguments.list,
            wanted=[*wanted, *filter(None, columns)],
            has_header=header,
            sheet=arguments.list_sheet,
            encoding=arguments.encoding,
        )
        order = replace(order, names=names, sheets=())
    if arguments.count is not None:
        order = replace(order, count_column=_column(order, arguments.count))
    order = replace(
        order,
        rows_off=_rows_off(arguments.off) or order.rows_off,
        way="densest" if arguments.densest else order.way,
        marks=arguments.marks or order.marks,
        spacing_mm=order.spacing_mm if arguments.spacing is None else arguments.spacing,
        fields=_fields(with_matched_fields(order, wanted), [one.name for one in order.fields], arguments),
    )
    assert order.way in WAYS
    plan = next(plan_steps(order.design))
    if (decided := settled(plan, arguments)) is not None:
        order, plan = replace(order, design=decided), next(plan_steps(decided))
    refuse_undecided(plan)
    return order


def _fields(order: Order, known: Sequence[str], arguments: argparse.Namespace) -> tuple[Field, ...]:
    fields = {one.name: one for one in order.fields}
    told = set(known)
    for text in arguments.field:
        name, column = _pair(text, fields)
        told.add(name)
        fields[name] = replace(fields[name], column=_column(order, column) if column else "", running=None)
    for text in arguments.numbers:
        name, run = _pair(text, fields)
        fields[name] = replace(fields[name], column="", running=parse_running(run))
    for text in arguments.fit:
        name, words = _pair(text, fields)
        way, _, limit = words.partition(":")
        limit_pct = _number(limit) if limit else fields[name].limit_pct
        fields[name] = replace(fields[name], fit=_way(way.strip()), limit_pct=limit_pct)
    for text in arguments.room:
        name, room = _pair(text, fields)
        fields[name] = replace(fields[name], room_mm=parse_length_mm(room, least_mm=0.0))
    for one in fields.values():
        check_field(one)
        if not one.column and one.running is None and one.name not in told:
            columns = f"The list has: {', '.join(order.names.columns)}. " if order.names else ""
            raise UnreadableError(
                f"The field {{{one.name}}} is in no column.",
                hint=f"{columns}Say --field {one.name}=COLUMN, --numbers '{one.name}=1 to 24', or --field {one.name}=.",
            )
    return tuple(fields.values())


def _pair(text: str, fields: Mapping[str, Field]) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals:
        raise UnreadableError(f"“{text}” says nothing of a field.", hint="Write it like name=Column.")
    found = [one for one in fields if one.casefold() == name.strip().casefold()]
    if not found:
        raise UnreadableError(f"The design has no field “{name.strip()}”.", hint=f"It has: {', '.join(fields)}.")
    return found[0], value.strip()


def _way(text: str) -> Fit:
    ways: dict[str, Fit] = {way: way for way in FITS}
    if text not in ways:
        raise UnreadableError(f"“{text}” is no way to fit text.", hint=f"Take one of: {', '.join(FITS)}.")
    return ways[text]


def _column(order: Order, name: str) -> str:
    columns = order.names.columns if order.names else ()
    found = [one for one in columns if one.casefold() == name.strip().casefold()]
    if not found:
        there = f"It has: {', '.join(columns)}." if columns else "Give one with --list."
        raise UnreadableError(f"The list has no column “{name}”." if columns else "There is no list.", hint=there)
    return found[0]


def _picked(text: str) -> Picked:
    number, equals, name = text.partition("=")
    if not equals or not number.isascii() or not number.strip().isdecimal() or int(number) < 1 or not name.strip():
        raise UnreadableError(f"“{text}” picks no text.", hint="Write it like 2=name.")
    return Picked(text=int(number) - 1, name=name.strip())


def _rows_off(text: str) -> tuple[int, ...]:
    rows = [word.strip() for word in text.split(",") if word.strip()]
    if not all(word.isascii() and word.isdecimal() for word in rows):
        raise UnreadableError(f"“{text}” are no rows.", hint="Write their numbers, like 3,8.")
    return tuple(sorted({int(word) for word in rows}))


def _number(text: str) -> float:
    try:
        return float(text.strip().rstrip("%"))
    except ValueError:
        raise UnreadableError(f"“{text}” is no number.", hint="Write per cent, like 70.") from None


# --- results ---------------------------------------------------------------------------------------------------------


def _summary(worked: WorkedOrder, whole: Taken, files: int, folder: Path) -> str:
    order = worked.order
    lines = []
    if order.names is not None:
        lines.append(f"{order.names.name}: {order.names.form.words}; {len(order.names.rows)} rows")
    filled = [
        f"{{{one.name}}} from {one.column or (one.running.words if one.running else 'nothing')}" for one in order.fields
    ]
    lines.append(f"  fields: {', '.join(filled)}")
    lines.append(f"  {_many(len(worked.filled.parts), 'part')} on {_many(len(worked.sheets), 'sheet')}")
    for sheet in worked.sheets:
        size = sheet.job.sheet
        label = f"{sheet.laid.label}, " if sheet.laid.label else ""
        count = _many(len(sheet.laid.places), "part")
        time = range_text(sheet.plan.time_range)
        lines.append(f"  {sheet.name}: {label}{size.width_mm:g} x {size.height_mm:g} mm, {count}, {time}")
    cost = whole.cost
    lines.append(f"  together: {range_text(whole.time)}; {whole.left_over_pct:.1f} % of the fills' coat stays")
    if whole.paints:
        lines.append(f"  paint: {whole.paint_words}")
    if cost.total:
        lines.append(f"  {price_words(price(cost, cost.copies), cost.rates.currency)}")
    if unpriced_words(cost):
        lines.append(f"  {unpriced_words(cost)}")
    lines += _findings(worked)
    if files:
        lines.append(f"wrote {_many(files, 'file')} to {folder}")
    return "\n".join(lines)


def _findings(worked: WorkedOrder) -> Sequence[str]:
    lines = [f"{one.severity}: {one.message}" for one in worked.findings]
    of_sheets: dict[str, list[str]] = {}
    for sheet in worked.sheets:
        for one in sheet.plan.findings:
            of_sheets.setdefault(f"{one.severity}: {one.message}", []).append(sheet.name)
    return lines + [f"{words} ({', '.join(names)})" for words, names in of_sheets.items()]


def _many(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _progress(share: float, doing: str) -> None:
    """How far it is, on a terminal only."""
    if sys.stderr.isatty():
        end = "\n" if share >= 1 else ""
        print(f"\r{100 * share:3.0f} % {doing:<60.60}", end=end, file=sys.stderr)
