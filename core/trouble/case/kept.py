"""What a job that was burned says afterwards, from the settings that were kept with it."""

from core.burning.beam import fill_verdict
from core.burning.chance import fill_chance
from core.burning.machines import Machine
from core.foreign_json import read_json
from core.job.as_data import from_data
from core.output.opening import recipe_in
from core.output.settings_document import check_document
from core.sheet.placement import Sheet
from core.sheet.stock import Stock
from core.trouble.case.case import Case, cut_facts, fill_facts

_WHAT = "The settings kept with this job"
_MOST_BYTES = 32 * 1024 * 1024


def case_of_settings(text: str) -> Case:
    """The case of a settings document: the burn's figures. Paints and joints are in no such document, so they are not
    known. Raises UnreadableError where it is none.
    """
    document = check_document(read_json(text.encode(), what=_WHAT, most_bytes=_MOST_BYTES))
    stock, machine = (
        from_data(Stock, document["stock"], what=_WHAT),
        from_data(Machine, document["machine"], what=_WHAT),
    )
    sheet = from_data(Sheet, {key: one for key, one in document["sheet"].items() if key != "stock"}, what=_WHAT)
    recipes = [(layer["name"], layer["purpose"], recipe_in(layer)) for layer in document["layers"]]
    return Case(
        known=True,
        stock=stock.name,
        coat=stock.coat,
        machine=machine.name,
        fills=tuple(
            fill_facts(name, recipe, stock, fill_verdict(recipe, machine, stock), fill_chance(recipe, machine, stock))
            for name, purpose, recipe in recipes
            if purpose == "fill"
        ),
        cuts=tuple(
            cut_facts(name, recipe, stock, keeps_size=bool(layer.get("lines_moved_for_kerf_mm")))
            for (name, purpose, recipe), layer in zip(recipes, document["layers"], strict=True)
            if purpose == "cut"
        ),
        kerf_mm=stock.kerf_mm,
        flaws_noted=len(sheet.flaws),
        sheet_thickness_mm=sheet.thickness_mm,
        stock_thickness_mm=stock.thickness_mm,
        both_way_offset_mm=machine.both_way_offset_mm,
    )
