"""One table for the settings: what is declared once is found everywhere, and its limits hold everywhere."""

import json
import math
from dataclasses import dataclass, fields, make_dataclass, replace

import jsonschema
import pytest

from app.dialogs.profile_forms import _in_groups
from core.burning.machines import CO2_FLATBED, Machine
from core.errors import TainError, UnreadableError
from core.figures import all_figures_of, check_figures, figure, figures_of, said
from core.finishing.paints import STARTING_PAINTS, Paint
from core.job.as_data import from_data, to_data
from core.job.checks import check_job
from core.job.job import Job, new_job
from core.job.report import recipe_data
from core.job.setting import value_of, with_settings
from core.output.settings_document import check_document
from core.output.settings_schema import schema, with_other_forms
from core.output.svg_writer import _settings, recipe_words
from core.sheet.placement import Sheet
from core.sheet.recipes import Recipe
from core.sheet.stock import MIRRORED_ACRYLIC_3, Stock


@dataclass(frozen=True, slots=True, kw_only=True)
class LargerRecipe(Recipe):
    """A recipe with one setting more, declared in one line."""

    wobble_mm: float = figure(0.0, words="Wobble", unit="mm", least=0, most=2, about="How far the head sways")
    airless: bool = figure(False, words="Airless", purposes=("score",))


SMALL = LargerRecipe(speed_mm_s=100.0, power_pct=10.0)
SWAYING = replace(SMALL, wobble_mm=0.25)


def test_a_setting_that_was_added_is_found_in_every_place(qtbot):
    from app.widgets.figure_fields import figure_field
    from app.words.figure_words import compared_recipes, recipe_text

    added = next(one for one in figures_of(LargerRecipe) if one.name == "wobble_mm")
    # fields
    field = figure_field(added, "Wobble of Fill", entered=lambda value: None)
    qtbot.addWidget(field)
    assert (field.minimum(), field.maximum()) == (0, 2) and field.text() == "0.0 mm"
    # profile forms and words in the window
    assert any(added in group for _, group in _in_groups(SMALL))
    assert "wobble 0.25 mm" in recipe_text(SWAYING, fill=True)
    assert ("Wobble", "0 mm", "0.25 mm") in compared_recipes(SMALL, SWAYING, fill=False)
    # checks
    with pytest.raises(UnreadableError, match="Wobble of Fill can't be 3 mm"):
        check_figures(replace(SMALL, wobble_mm=3.0), of="Fill")
    # command line
    assert value_of(LargerRecipe, "wobble-mm", "0.5 mm", of="Fill") == ("wobble_mm", 0.5)
    # schema, document, attributes, words
    made = with_other_forms(LargerRecipe)
    assert made["properties"]["wobble_mm"]["maximum"] == 2 and "wobble_mm" not in made["required"]
    assert recipe_data(SWAYING)["wobble_mm"] == 0.25
    jsonschema.validate(recipe_data(SWAYING) | {"origin": to_data(SWAYING.origin)}, made)
    assert _settings(SWAYING, "cut")["wobble-mm"] == "0.25"
    assert recipe_words(SWAYING, "cut").endswith("air off, wobble 0.25 mm") and "wobble" not in recipe_words(
        SMALL, "cut"
    )
    assert "airless" not in _settings(SWAYING, "fill") and _settings(SWAYING, "score")["airless"] == "no"
    # kept only where it says something, so that older jobs keep their bytes
    assert to_data(SMALL) == to_data(Recipe(speed_mm_s=100.0, power_pct=10.0))
    assert to_data(SWAYING)["wobble_mm"] == 0.25
    assert from_data(LargerRecipe, to_data(SMALL), what="it") == SMALL


@pytest.mark.parametrize("kind", (Recipe, Machine, Stock, Paint, Sheet))
def test_every_number_is_declared_with_words_and_limits(kind):
    declared = {one.name: one for one in all_figures_of(kind)}
    for one in fields(kind):
        if one.type in (float, int, bool):
            assert one.name in declared, f"{one.name} of {kind.__name__} has no limits"
    for one in declared.values():
        assert one.words and (one.kind in ("switch", "choice", "text") or -math.inf < one.least < one.most < math.inf)


def test_a_figure_that_came_later_stays_out_while_it_says_nothing():
    later = figure(1.0, words="Later")
    first = figure(1.0, words="First", always_kept=True)
    kind = make_dataclass("Both", [("later", float, later), ("first", float, first)], frozen=True, kw_only=True)
    assert to_data(kind()) == {"first": 1.0}


@pytest.mark.parametrize("value", (STARTING_PAINTS[0], CO2_FLATBED, MIRRORED_ACRYLIC_3, new_job()))
def test_what_the_program_starts_with_is_within_the_limits(value):
    check_figures(value)


JOB = new_job()
OUTSIDE = [
    ("layers.0.recipe.speed_mm_s", 1e300, "Speed of Fill can't be 1e+300 mm/s"),
    ("layers.0.recipe.speed_mm_s", 1e-308, "Speed of Fill"),
    ("layers.0.recipe.power_pct", 101, "Power of Fill can't be 101 %. Give 0 to 100 %"),
    ("layers.0.recipe.pitch_mm", 0.001, "Pitch of Fill"),
    ("layers.0.recipe.passes", 0, "Passes of Fill can't be 0. Give 1 to 99."),
    ("layers.0.recipe.passes", 10**400, "Passes of Fill can't be so large a number"),
    ("machine.spot_mm", 0, "Spot of CO2 flatbed 100 W can't be 0 mm"),
    ("machine.rated_power_w", -1, "Rated power of CO2 flatbed 100 W"),
    ("machine.max_speed_mm_s", 1e308, "Greatest speed of CO2 flatbed 100 W can't be 1e+308 mm/s"),
    ("machine.power_table", [[10.0, 5.0], [10.0, 6.0]], "does not rise"),
    ("stock.fill.speed_mm_s", 0, "Speed of the fill recipe of mirrored acrylic 3 mm"),
    ("stock.kerf_mm", -0.1, "Kerf of mirrored acrylic 3 mm"),
    ("sheet.width_mm", 1e300, "Width of the sheet can't be 1e+300 mm"),
    ("machine.spot_mm", 10**400, "a number of very many digits"),
    ("machine.origin.standard_error", 1e300, "Standard error of the origin of CO2 flatbed 100 W"),
    ("sheet.width_mm", 1e7, "Width of the sheet can't be 1e+07 mm"),
    ("placement.x_mm", 1e9, "Place across of the placement"),
    ("layers.0.colour", "red", "Colour of Fill can't be “red”"),
    ("layers.0.name", "a\x00b", "characters that are none"),
    ("layers.0.name", "a\ud800", "characters that are none"),
    ("layers.1.id", "fill", "Two layers of this job have the same id"),
    ("layers.0.id", "leave out", "means no layer"),
    ("layers", {"a": 1}, "a list is missing"),
    ("layers.0", [1], "not in place"),
    ("layers.0.recipe", "fast", "not in place"),
    ("layers.0.purpose", ["fill"], "is none of fill, "),
    ("repairs", "join-ends", "a list is missing"),
    ("turn", "around", "“around” is none of sideways, endways"),
    ("placement.centred", 1, "is not true or false"),
]


@pytest.mark.parametrize(
    ("where", "value", "told"), OUTSIDE, ids=[f"{where}={value!s:.12}" for where, value, _ in OUTSIDE]
)
def test_a_job_file_with_a_value_that_makes_no_sense_is_refused_in_a_sentence(where, value, told):
    data = json.loads(json.dumps(to_data(JOB)))
    *path, last = where.split(".")
    at = data
    for part in path:
        at = at[int(part)] if part.isdecimal() else at[part]
    at[int(last) if last.isdecimal() else last] = value
    with pytest.raises(UnreadableError) as caught:
        from_data(Job, data, what="The job in a.tain")
    text = str(caught.value)
    assert told in text and text.startswith("The job in a.tain") and "\n" not in text and len(text) < 250
    assert not any(word in text for word in ("object has", "NoneType", "Error", "dict", "class"))


def test_window_command_line_job_file_and_export_say_the_same():
    told = []
    wrong = replace(JOB.layers[0], recipe=replace(JOB.layers[0].recipe, speed_mm_s=2e5))
    document = document_of(JOB)
    document["layers"][0]["recipe"]["speed_mm_s"] = 2e5
    data = to_data(replace(JOB, layers=(wrong, *JOB.layers[1:])))
    for attempt in (
        lambda: check_job(replace(JOB, layers=(wrong,))),
        lambda: with_settings(JOB, ["fill.speed_mm_s=2e5"]),
        lambda: from_data(Job, data, what="The job in a.tain"),
        lambda: check_document(document),
    ):
        with pytest.raises(TainError) as caught:
            attempt()
        told.append(str(caught.value))
    sentence = "Speed of Fill can't be 200000 mm/s. Give 0.01 to 100\u202f000 mm/s."
    assert told[:2] == [sentence, sentence] and all(one.endswith(sentence) for one in told)


def document_of(job):
    from core.artwork.drawing import ArtworkSource
    from core.job.prepare import prepare
    from core.output.settings_document import settings_document

    art = b'<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm"><path d="M5 5h40v30h-40z"/></svg>'
    document = settings_document(prepare(replace(job, source=ArtworkSource(name="a.svg", data=art))))
    assert check_document(document) == document
    return json.loads(json.dumps(document))


@pytest.mark.parametrize(
    ("where", "key", "told"),
    (
        ("", "wobble", "saved by a newer Tain"),
        ("layers.0", "wobble", "saved by a newer Tain"),
        ("layers.0.recipe", "wobble_mm", "saved by a newer Tain: “wobble_mm” is not known here"),
        ("stock.cut", "wobble_mm", "saved by a newer Tain"),
        ("machine", "wobble_mm", "saved by a newer Tain"),
        ("sheet", "wobble_mm", "saved by a newer Tain"),
    ),
)
def test_an_export_of_a_newer_tain_is_not_opened(where, key, told):
    document = document_of(JOB)
    at = document
    for part in filter(None, where.split(".")):
        at = at[int(part)] if part.isdecimal() else at[part]
    at[key] = 1
    with pytest.raises(UnreadableError, match=told):
        check_document(document)


def test_the_schema_is_one():
    jsonschema.Draft202012Validator.check_schema(schema())
    assert schema()["$defs"]["recipe"]["properties"]["lines_per_inch"]["maximum"] == pytest.approx(2540)


@pytest.mark.parametrize(
    ("setting", "told"),
    (
        ("fill.passes", "sets nothing"),
        ("passes=2", "sets nothing"),
        ("fill.passes=", "sets nothing"),
        ("fill.passes=two", "Passes of Fill can't be “two”. Give 1 to 99."),
        ("fill.passes=2.5", "whole number"),
        ("fill.passes=2_0", "can't be “2_0”"),
        ("fill.passes=２", "can't be “２”"),
        ("fill.power_pct=٢٥", "can't be “٢٥”"),
        ("fill.passes=nan", "can't be nan"),
        ("fill.air=loud", "Give off, low or high"),
        ("fill.lpi=0.01", "Lines per inch of Fill can't be 0.01. Give 1 to 2\u202f540 LPI."),
        ("fill.lpi=nan", "Lines per inch"),
        ("fill.wobble=1", "It has speed_mm_s"),
        ("nothing.passes=2", "nothing called “nothing”"),
        ("machine.scans_both_ways=perhaps", "Give yes or no"),
    ),
)
def test_a_setting_that_makes_no_sense_is_refused(setting, told):
    with pytest.raises(UnreadableError) as caught:
        with_settings(JOB, [setting])
    assert told in str(caught.value)


def test_settings_reach_layers_profiles_and_sheet():
    job = with_settings(
        JOB,
        ["fill.passes=2", "cut.power_pct=80 %", "Score.air=high", "fill.lines-per-inch=508", "sheet.width_mm=310",
         "machine.spot_mm=0.2", "machine.scans_both_ways=no", "stock.kerf_mm=0.2"],
    )  # fmt: skip
    by_id = {layer.id: layer.recipe for layer in job.layers}
    assert by_id["fill"].passes == 2 and by_id["fill"].pitch_mm == pytest.approx(0.05) and by_id["cut"].power_pct == 80
    assert by_id["score"].air == "high" and by_id["score"].origin.kind == "set by hand"
    assert by_id["guide"] == JOB.layers[3].recipe
    assert (job.sheet.width_mm, job.machine.spot_mm, job.machine.scans_both_ways) == (310, 0.2, False)
    assert job.stock.kerf_mm == 0.2 and dict(job.stock.figure_origins)["kerf_mm"].kind == "set by hand"
    assert said(by_id["fill"], "fill")[:4] == ["800 mm/s", "20 %", "2 passes", "508 LPI (pitch 0.0500 mm)"]
