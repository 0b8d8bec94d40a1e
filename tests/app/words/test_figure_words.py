"""Plain words for every figure of the shop book, in mm and in inches."""

from dataclasses import fields, replace

import pytest

from app.dialogs.shop_book import KIND_WORDS
from app.words.figure_words import NOT_SHOWN, WORDS, compared_recipes, entry_lines
from app.words.wording import in_shown_units
from core.artwork.sorting.rules import PurposeRule
from core.burning.coupon_seen import CouponReading, PatchSeen, WidthSeen
from core.burning.coupons import make_coupon
from core.burning.machines import CO2_FLATBED
from core.burning.unknowns import with_figure
from core.finishing.bonding import BondTrial
from core.finishing.paints import STARTING_PAINTS
from core.job.costs.rates import Rates
from core.sheet.recipes import Origin, Recipe
from core.sheet.stacks import StackFigures
from core.sheet.stock import MIRRORED_ACRYLIC_3
from core.shop_book.kinds import KINDS, JobDone, KeptRule, RecipeNote
from core.trouble.case.noted import FaultNoted, Noted, with_noted
from core.trouble.causes.caution import Condition, LearnedCaution
from core.trouble.trials.factors import factor_from
from core.trouble.trials.planning import Ask, planned_trial

COUPON = make_coupon(
    "pitch-ladder", MIRRORED_ACRYLIC_3, CO2_FLATBED, width_mm=120, height_mm=80, read_from="front", made="2026-05-01"
)
ENTRIES = {
    "machine": CO2_FLATBED,
    "stock": MIRRORED_ACRYLIC_3,
    "recipe": RecipeNote(purpose="fill", recipe=MIRRORED_ACRYLIC_3.fill, photos=("a.jpg", "b.jpg")),
    "coupon": COUPON,
    "reading": CouponReading(
        code="ABCDE",
        read="2026-05-02",
        patches=(PatchSeen(label="B3", look="clean"),),
        widths=(WidthSeen(label="A1", width_mm=0.0508),),
    ),
    "job": JobDone(done="2026-05-02", stock="a", machine="b", predicted_s=400.0, actual_s=420.0),
    "paint": STARTING_PAINTS[0],
    "bond": BondTrial(joint="mirror to wood", adhesive="silicone", verdict="suits", stock="a", date="2026-05-02"),
    "fault": FaultNoted(
        faults=("cracked",), noted=with_noted(Noted(), "temperature-c=9"), stock="a", date="2026-05-02"
    ),
    "caution": LearnedCaution(
        about="paint",
        thing="white",
        fault="cracked",
        cause="recoat-too-early",
        trial="ABCDE",
        when=(Condition(figure="wait_min", relation="at most", value=30),),
    ),
    "trial": planned_trial(
        Ask(
            fault="cracked",
            factors=(factor_from("wait_min=10,60", "cracked"),),
            stock=MIRRORED_ACRYLIC_3,
            machine=CO2_FLATBED,
            paint=STARTING_PAINTS[0],
        )
    ),
    "rule": KeptRule(rule=PurposeRule(sort="layer", value="Fold", answer="score"), customer="Harbour club"),
}


@pytest.mark.parametrize("kind", KINDS)
def test_no_field_name_reaches_people(kind):
    shown = {field.name for field in fields(KINDS[kind])} - set(NOT_SHOWN)
    assert shown <= set(WORDS)
    assert kind in KIND_WORDS
    lines = entry_lines(ENTRIES[kind]) if kind in ENTRIES else ["said elsewhere"]
    assert lines and not any("_" in line or f"{one}(" in line for one in _CLASSES for line in lines)


_CLASSES = ("Origin", "Recipe", "PurposeRule")


def test_what_was_learned_under_paint_is_told():
    learned = StackFigures(paints=("navy", "gold"), clearing_dose_j_mm2=0.31, frosting_dose_j_mm2=0.9)
    lines = entry_lines(replace(MIRRORED_ACRYLIC_3, stacks=(learned,)))
    assert "Coat under paint: navy, gold: clears at 0.31 J/mm²" in lines


def test_figures_come_with_origin_error_and_unit():
    measured = Origin(kind="measured", date="2026-05-01", note="coupon ABCDE", standard_error=0.00254)
    machine = with_figure(CO2_FLATBED, "spot_mm", 0.127, measured)
    assert "Spot: 0.127 ± 0.0025 mm (measured here, 2026-05-01, coupon ABCDE)" in entry_lines(machine)
    assert "Spot: 0.005 ± 0.00010 in (measured here, 2026-05-01, coupon ABCDE)" in entry_lines(machine, inches=True)
    assert "Ran over foreseen: 105 %" in entry_lines(ENTRIES["job"])
    assert "Line widths: A1 0.002 in" in entry_lines(ENTRIES["reading"], inches=True)


@pytest.mark.parametrize(
    ("metric", "inch"),
    (
        ("Clean at 25.4 mm.", "Clean at 1.000 in."),
        ("0.0508 to 0.1016 mm (500 to 250 LPI)", "0.002000 to 0.004000 in (500 to 250 LPI)"),
        ("508 mm/s, 20 %", "20.0 in/s, 20 %"),
        ("12 mm/s", "0.472 in/s"),
        ("254 mm/s²", "10.0 in/s²"),
        ("over 645.16 mm², dose 0.19 J/mm²", "over 1.00000 in², dose 0.19 J/mm²"),
        ("0.5 % of 3 mm\u00a0and 2 passes", "0.5 % of 0.118 in\u00a0and 2 passes"),
        ("1e-05 mm, B12 mm, 2 mmol", "1e-05 mm, B12 mm, 2 mmol"),
    ),
)
def test_lengths_in_words_turn_to_inches(metric, inch):
    assert in_shown_units(metric, inches=True) == inch
    assert in_shown_units(metric, inches=False) == metric


def test_recipes_side_by_side():
    first, second = Recipe(speed_mm_s=800.0, power_pct=20.0), Recipe(speed_mm_s=508.0, power_pct=20.0, air="low")
    rows = {row[0]: row[1:] for row in compared_recipes(first, second, fill=True)}
    assert rows["Speed"] == ("800 mm/s", "508 mm/s") and rows["Air"] == ("off", "low") and "Pitch" in rows
    inch = {row[0]: row[1:] for row in compared_recipes(first, second, fill=False, inches=True)}
    assert inch["Speed"] == ("31.496 in/s", "20 in/s") and "Pitch" not in inch


def test_a_coupon_tells_what_its_patches_are():
    lines = entry_lines(make_coupon("pitch-ladder", MIRRORED_ACRYLIC_3, CO2_FLATBED))
    assert any(line.startswith("Patches: A1 235 LPI, A2 ") for line in lines)
    assert "Labels read from: front" in lines


def test_price_breaks_are_told_as_they_are_typed():
    assert "Price breaks: 10: 5 %, 50: 12.5 %" in entry_lines(Rates(breaks=((10, 5.0), (50, 12.5))))
