"""Machines and stocks changed by hand: what is refused, what is kept, names, and who was first."""

from dataclasses import fields, replace

import pytest

from core.burning.machines import CO2_FLATBED, STARTING_MACHINES
from core.burning.power_table import power_table_from, power_table_text
from core.errors import UnreadableError
from core.figures import figures_of
from core.sheet.recipes import Origin, Recipe
from core.sheet.stock import MIRRORED_ACRYLIC_3, PVC_3, STARTING_STOCKS
from core.shop_book.profile_editing import (
    ProfileEdit,
    by_hand,
    copy_of,
    free_name,
    guarded,
    keep_profiles,
    new_profile,
    with_origin,
)
from core.shop_book.profile_figures import check_profile
from core.shop_book.store import StaleEntryError, open_book


@pytest.fixture
def book(tmp_path):
    with open_book(tmp_path / "book.sqlite") as book:
        yield book


@pytest.mark.parametrize("value", (CO2_FLATBED, MIRRORED_ACRYLIC_3, MIRRORED_ACRYLIC_3.fill))
def test_every_number_of_a_profile_is_a_figure(value):
    numbers = {field.name for field in fields(value) if type(getattr(value, field.name)) in (float, int, bool)}
    assert {one.name for one in figures_of(type(value)) if one.kind != "choice"} == numbers


@pytest.mark.parametrize("profile", (*STARTING_MACHINES, *STARTING_STOCKS), ids=lambda one: one.name)
def test_the_starting_profiles_make_sense(profile):
    check_profile(profile)


@pytest.mark.parametrize(
    ("profile", "told"),
    (
        (replace(CO2_FLATBED, name=" "), "needs a name"),
        (replace(CO2_FLATBED, spot_mm=0.0), "Spot of CO2 flatbed 100 W can't be 0 mm"),
        (replace(CO2_FLATBED, turn_round_s=float("nan")), "Row turn-round"),
        (replace(CO2_FLATBED, power_table=((50.0, 40.0), (20.0, 10.0))), "does not rise"),
        (replace(MIRRORED_ACRYLIC_3, frosting_dose_j_mm2=0.19), "not above its clearing dose"),
        (replace(MIRRORED_ACRYLIC_3, fill=Recipe(speed_mm_s=0.0, power_pct=20.0)), "Speed of the fill recipe"),
        (replace(MIRRORED_ACRYLIC_3, cut=Recipe(speed_mm_s=9.0, power_pct=120.0)), "Power of the cut recipe"),
    ),
)
def test_what_makes_no_sense_is_refused_in_a_sentence(profile, told):
    with pytest.raises(UnreadableError, match=told) as caught:
        check_profile(profile)
    assert caught.value.hint


def test_power_tables_are_read_as_they_are_told():
    rows = ((10.0, 8.2), (50.0, 43.0), (100.0, 91.0))
    assert power_table_from(power_table_text(rows)) == rows
    assert power_table_from("10 % = 8.2 W,50=43, ") == rows[:2] and power_table_from(" ") == ()
    for text in ("10", "ten = 8", "10 = 8, 10 = 9", "20 = 8, 10 = 9", "10 = 9, 20 = 8", "120 = 9", "50 = 0"):
        with pytest.raises(UnreadableError):
            power_table_from(text)


def test_names_are_free():
    assert free_name("a", ()) == "a" and free_name("a", {"a", "a 2"}) == "a 3"
    assert copy_of(CO2_FLATBED, {"CO2 flatbed 100 W, copy"}).name == "CO2 flatbed 100 W, copy 2"
    assert (
        new_profile("machine", ()).name == "New machine" and new_profile("stock", {"New stock"}).name == "New stock 2"
    )


def test_origins_and_recipes_by_hand():
    sheet = Origin(kind="maker's sheet", date="2026-05-01")
    assert dict(with_origin(CO2_FLATBED, "spot_mm", sheet).figure_origins) == {"spot_mm": sheet}
    assert by_hand(MIRRORED_ACRYLIC_3.fill, date="2026-05-01").origin.kind == "set by hand"


@pytest.mark.parametrize("words", ({"kind": "Vinyl"}, {"name": "white PVC 2 mm"}, {"kind": "polyvinyl chloride"}))
def test_a_chlorinated_plastic_is_refused_whatever_else_is_said(words):
    stock = guarded(replace(MIRRORED_ACRYLIC_3, **words))
    assert stock.refused == PVC_3.refused and "chlorine" in stock.caution_codes and stock.cut is None
    assert guarded(MIRRORED_ACRYLIC_3) is MIRRORED_ACRYLIC_3


def edit_of(entry, value):
    return ProfileEdit(kind=entry.kind, uuid=entry.uuid, based_on=entry.stamp, value=value)


def test_all_edits_are_kept_or_none(book):
    machine, stock = book.find("machine", "flatbed"), book.find("stock", "mirrored acrylic 3")
    good = edit_of(machine, replace(machine.value, spot_mm=0.15))
    bad = edit_of(stock, replace(stock.value, clearing_dose_j_mm2=0.9))
    with pytest.raises(UnreadableError):
        keep_profiles(book, (good, bad))
    assert book.entry(machine.uuid) == machine
    new = ProfileEdit(kind="stock", uuid="", based_on="", value=replace(stock.value, name=" sea glass 3 mm "))
    keep_profiles(book, (good, new))
    assert book.entry(machine.uuid).value.spot_mm == 0.15
    assert book.find("stock", "sea glass 3 mm").value.name == "sea glass 3 mm"


def test_a_name_is_given_once(book):
    machine, other = book.find("machine", "flatbed"), book.find("machine", "desktop")
    with pytest.raises(UnreadableError, match="already"):
        keep_profiles(book, (edit_of(machine, replace(machine.value, name=other.name)),))
    swapped = replace(machine.value, name="flatbed by the window")
    keep_profiles(book, (edit_of(machine, swapped),))
    assert book.entry(machine.uuid).name == "flatbed by the window"


def test_who_comes_second_is_told_and_may_go_on_top(book):
    machine = book.find("machine", "flatbed")
    book.change(machine.uuid, replace(machine.value, spot_mm=0.2))
    mine = edit_of(machine, replace(machine.value, spot_mm=0.3))
    with pytest.raises(StaleEntryError):
        keep_profiles(book, (mine,))
    keep_profiles(book, (mine,), over_others=True)
    assert [state.value.spot_mm for state in book.history(machine.uuid)] == [0.3, 0.2, 0.137]
