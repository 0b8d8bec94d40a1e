"""``tain book``: the shop book without a window."""

import argparse
import json
from datetime import date
from pathlib import Path
from typing import Any

from app.commands.actions import Action, add_actions, run_action
from app.commands.book_learning import add_calibrate, add_done, add_read, calibrate, done, read
from app.commands.files_in import add_settings_argument, job_to_keep
from app.words.entry_words import figure_lines, short_text
from core.atomic import write_atomically
from core.errors import UnreadableError
from core.job.as_data import to_data
from core.sheet.recipes import Origin
from core.shop_book.comparing import compared_fills, differences
from core.shop_book.entries import SEED_STAMP, Damaged, Entry
from core.shop_book.exchange import exported, import_file
from core.shop_book.kinds import KINDS, RecipeNote
from core.shop_book.profile_editing import set_figure
from core.shop_book.recipes_kept import keep_recipe
from core.shop_book.store import ShopBook

SUMMARY = "The shop book: machines, stocks, recipes, coupons read, jobs done."
EXAMPLES = (
    "tain book list machine",
    "tain book search frosting",
    "tain book set stock 'mirrored acrylic 3 mm' kerf_mm 0.18 --from measured",
    "tain book export shop.json",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The sub-commands of ``tain book`` and their arguments."""
    add_actions(parser, ACTIONS)


def run(arguments: argparse.Namespace) -> int:
    """Do the action. Returns the exit code; raises TainError for the caller to say."""
    return run_action(arguments, ACTIONS)


# --- looking --------------------------------------------------------------------------------------------------------


def _add_list(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("kind", nargs="?", choices=tuple(KINDS), help="only these")
    parser.add_argument("--json", action="store_true")


def _list(book: ShopBook, arguments: argparse.Namespace) -> int:
    kinds = [arguments.kind] if arguments.kind else list(KINDS)
    if arguments.json:
        _print_entries([entry for kind in kinds for entry in book.entries(kind)], arguments)
        return 0
    listed = [one for kind in kinds for one in book.listed(kind)]
    print("\n".join(f"{one.kind:<8} {one.name:<32} {one.note}".rstrip() for one in listed))
    for problem in book.damaged() if len(listed) <= MOST_LOOKED_THROUGH else ():
        print(f"problem: {problem}")
    return 0


MOST_LOOKED_THROUGH = 5_000
"""So many entries are read whole for problems whenever they are listed; of more, an export names them."""


def _add_search(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("words", nargs="+")
    parser.add_argument("--kind", choices=tuple(KINDS))
    parser.add_argument("--json", action="store_true")


def _search(book: ShopBook, arguments: argparse.Namespace) -> int:
    _print_entries(list(book.search(" ".join(arguments.words), kind=arguments.kind)), arguments)
    return 0


def _add_named(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("kind", choices=tuple(KINDS))
    parser.add_argument("name", help="its name, or enough of it")


def _add_show(parser: argparse.ArgumentParser) -> None:
    _add_named(parser)
    parser.add_argument("--json", action="store_true")


def _show(book: ShopBook, arguments: argparse.Namespace) -> int:
    entry = book.history(book.find_listed(arguments.kind, arguments.name).uuid)[0]
    if arguments.json:
        print(json.dumps(_entry_data(entry), ensure_ascii=False, indent=1, allow_nan=False))
        return 0
    changed = "" if entry.stamp == SEED_STAMP else f", as of {entry.stamp}"
    print(f"{entry.kind} {entry.name}{changed}{f', {entry.note}' if entry.note else ''}")
    damaged = isinstance(entry.value, Damaged)
    print(f"{entry.value.why}\n{entry.value.text}" if damaged else "\n".join(figure_lines(entry.value)))
    return 0


def _history(book: ShopBook, arguments: argparse.Namespace) -> int:
    for state in book.history(book.find_listed(arguments.kind, arguments.name).uuid):
        print(f"{state.stamp}  {'removed' if state.removed else state.name}  {state.note}".rstrip())
    return 0


def _add_compare(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("kind", choices=("recipe", "stock", "machine"))
    parser.add_argument("first")
    parser.add_argument("second")


def _compare(book: ShopBook, arguments: argparse.Namespace) -> int:
    first, second = (book.find(arguments.kind, name) for name in (arguments.first, arguments.second))
    one, two = first.value, second.value
    if isinstance(one, RecipeNote) and isinstance(two, RecipeNote):
        found = differences(one.recipe, two.recipe)
    else:
        found = differences(one, two)
    for difference in found:
        print(f"  {difference.figure:<26} {short_text(difference.first):<28} {short_text(difference.second)}")
    if not found:
        print("  They are the same.")
    if isinstance(one, RecipeNote) and one.purpose == two.purpose == "fill" and one.stock_uuid and one.machine_uuid:
        machine, stock = book.entry(one.machine_uuid).value, book.entry(one.stock_uuid).value
        verdicts = compared_fills(one.recipe, two.recipe, machine, stock)
        print(f"  {first.name}: {verdicts[0].words}")
        print(f"  {second.name}: {verdicts[1].words} Burning takes {100 * verdicts[2]:.0f} % of the first one's time.")
    return 0


# --- changing -------------------------------------------------------------------------------------------------------


def _add_set(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("kind", choices=("machine", "stock"))
    parser.add_argument("name", help="its name, or enough of it")
    parser.add_argument("figure", help="like spot_mm or clearing_dose_j_mm2")
    parser.add_argument("value", type=float)
    parser.add_argument(
        "--from", dest="origin", choices=("maker's sheet", "measured", "set by hand"), default="set by hand"
    )
    parser.add_argument("--standard-error", type=float)
    parser.add_argument("--note", default="")


def _set(book: ShopBook, arguments: argparse.Namespace) -> int:
    origin = Origin(kind=arguments.origin, date=_today(), note=arguments.note, standard_error=arguments.standard_error)
    entry = book.find(arguments.kind, arguments.name)
    set_figure(book, entry, arguments.figure, arguments.value, origin)
    print(f"{entry.name}: {arguments.figure} {arguments.value:g} ({arguments.origin})")
    return 0


def _add_keep(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", help="what to call the recipe")
    parser.add_argument("job", type=Path, help="the job or export that has it")
    add_settings_argument(parser)
    parser.add_argument("layer", help="the layer's name")
    parser.add_argument("--verdict", default="", help="how it did")
    parser.add_argument("--note", default="")


def _keep(book: ShopBook, arguments: argparse.Namespace) -> int:
    job = job_to_keep(arguments.job, arguments)
    layer = next((layer for layer in job.layers if layer.name.casefold() == arguments.layer.casefold()), None)
    if layer is None:
        names = ", ".join(layer.name for layer in job.layers)
        raise UnreadableError(f"{arguments.job.name} has no layer “{arguments.layer}”.", hint=f"It has {names}.")
    keep_recipe(book, job, layer, name=arguments.name, verdict=arguments.verdict, note=arguments.note)
    print(f"kept {arguments.name}")
    return 0


def _remove(book: ShopBook, arguments: argparse.Namespace) -> int:
    entry = book.find(arguments.kind, arguments.name)
    book.remove(entry.uuid)
    print(f"removed {entry.kind} {entry.name}; bring it back with: tain book revert {entry.uuid} {entry.stamp}")
    return 0


def _add_revert(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("uuid", help="the entry's uuid, or KIND/NAME")
    parser.add_argument("stamp", help="the state to bring back, as history shows it")


def _revert(book: ShopBook, arguments: argparse.Namespace) -> int:
    kind, slash, name = arguments.uuid.partition("/")
    uuid = book.find_listed(kind, name).uuid if slash and kind in KINDS else arguments.uuid
    entry = book.revert(uuid, arguments.stamp)
    print(f"{entry.kind} {entry.name} is as it was at {arguments.stamp}")
    return 0


# --- carrying -------------------------------------------------------------------------------------------------------


def _add_export(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, metavar="FILE.json")
    parser.add_argument("--force", action="store_true", help="overwrite a file that exists")


def _export(book: ShopBook, arguments: argparse.Namespace) -> int:
    if arguments.file.suffix.lower() != ".json":
        raise UnreadableError(f"{arguments.file.name} is no name for a shop book's export.", hint="End it in .json.")
    write_atomically(arguments.file, exported(book), overwrite=arguments.force)
    print(f"wrote {arguments.file}")
    return 0


def _add_import(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, metavar="FILE.json")


def _import(book: ShopBook, arguments: argparse.Namespace) -> int:
    merged = import_file(book, arguments.file)
    counts = f"{merged.added} added, {merged.updated} updated, {merged.kept} kept as history"
    print(f"{counts}, {merged.unchanged} known already")
    print("\n".join(f"problem: {problem}" for problem in merged.problems), end="\n" if merged.problems else "")
    return 1 if merged.problems else 0


ACTIONS = {
    "list": Action("what the book holds", _add_list, _list),
    "search": Action("entries that hold all these words", _add_search, _search),
    "show": Action("one entry, each figure with where it comes from", _add_show, _show),
    "history": Action("all states of an entry", _add_named, _history),
    "compare": Action("two recipes, stocks or machines side by side", _add_compare, _compare),
    "set": Action("set one figure of a machine or stock", _add_set, _set),
    "keep": Action("keep a layer's recipe", _add_keep, _keep),
    "remove": Action("take an entry out", _add_named, _remove),
    "revert": Action("bring an earlier state of an entry back", _add_revert, _revert),
    "read": Action("read a burned coupon", add_read, read),
    "done": Action("note a job that was burned", add_done, done),
    "calibrate": Action("fit a machine's row times from timed jobs", add_calibrate, calibrate),
    "export": Action("write the whole book as JSON", _add_export, _export),
    "import": Action("merge an export into the book", _add_import, _import),
}


# --- words ----------------------------------------------------------------------------------------------------------


def _today() -> str:
    return date.today().isoformat()


def _entry_data(entry: Entry) -> dict[str, Any]:
    return {
        "uuid": entry.uuid, "kind": entry.kind, "name": entry.name, "stamp": entry.stamp, "note": entry.note,
        "data": to_data(entry.value),
    }  # fmt: skip


def _print_entries(entries: list[Entry], arguments: argparse.Namespace) -> None:
    if arguments.json:
        print(json.dumps({"entries": [_entry_data(entry) for entry in entries]}, ensure_ascii=False, allow_nan=False))
        return
    for entry in entries:
        print(f"{entry.kind:<8} {entry.name:<32} {entry.note}".rstrip())
