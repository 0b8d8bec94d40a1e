"""Paints, bonding and inspection as data."""

from itertools import product

import pytest

from core.errors import UnreadableError
from core.finishing.bonding import ADHESIVES, JOINTS, NO_SOURCE, BondTrial, bond_advice
from core.finishing.inspection import checks_for
from core.finishing.paints import (
    STARTING_PAINTS,
    Finishing,
    Paint,
    PaintTrial,
    colour_name,
    free_name,
    is_weak,
    relative_luminance,
    shows_through,
    starting_paint,
)
from core.job.as_data import from_data, to_data
from core.job.job import Job, new_job
from core.sheet.stock import CLEAR_ACRYLIC_3, MIRRORED_ACRYLIC_3, MIRRORED_GLASS_4


def test_a_paint_is_plain_data_and_back() -> None:
    trial = PaintTrial(stock="mirrored acrylic 3 mm", coats=2, verdict="covers", photo="a.jpg")
    paint = Paint(name="sea", colour="#1b8a8f", trials=(trial,))
    finishing = Finishing(paints=(paint, *STARTING_PAINTS), paint_of=(("a", "sea"),), order=("sea",))
    assert from_data(Finishing, to_data(finishing), what="it") == finishing


def test_a_job_from_before_there_was_finishing_still_reads() -> None:
    data = to_data(new_job())
    del data["finishing"]
    assert from_data(Job, data, what="it").finishing == Finishing()


def test_luminance_of_known_colours() -> None:
    """W3C WCAG 2.2: white 1, black 0; #777777 on white has contrast 4.48 (W3C, Understanding SC 1.4.3)."""
    assert relative_luminance("#ffffff") == pytest.approx(1.0)
    assert relative_luminance("#000000") == 0.0
    assert 1.05 / (relative_luminance("#777777") + 0.05) == pytest.approx(4.48, abs=0.005)


def test_only_a_darker_paint_shows_through_and_only_through_a_weak_one() -> None:
    cream = Paint(name="cream", colour="#f4f1e8", coats=1, hides_in_coats=3)
    navy = Paint(name="navy", colour="#16324f", coats=1, hides_in_coats=3)
    assert shows_through(cream, navy)
    assert not shows_through(navy, cream)
    assert not shows_through(Paint(name="cream", colour="#f4f1e8", coats=3, hides_in_coats=3), navy)
    assert is_weak(starting_paint("white", "#ffffff"))
    assert not is_weak(starting_paint("black", "#000000"))


@pytest.mark.parametrize(
    ("colour", "name"),
    [
        ("#ffffff", "white"),
        ("#000000", "black"),
        ("#808080", "grey"),
        ("#ff0000", "red"),
        ("#00aa00", "green"),
        ("#1b8a8f", "teal"),
        ("#16324f", "dark blue"),
        ("#ffff00", "yellow"),
        ("#5c3317", "brown"),
    ],
)
def test_colours_have_plain_names(colour: str, name: str) -> None:
    assert colour_name(colour) == name


def test_names_are_free() -> None:
    assert free_name("red", []) == "red"
    assert free_name("Red", ["red", "Red 2"]) == "Red 3"
    assert free_name("bare", []) == "bare 2"


@pytest.mark.parametrize(("joint", "adhesive"), list(product(JOINTS, ADHESIVES)))
def test_every_joint_and_adhesive_has_an_answer(joint: str, adhesive: str) -> None:
    advice = bond_advice(joint, adhesive)
    assert advice.why and advice.how
    assert advice.source == NO_SOURCE
    assert "data sheet" in advice.caution


def test_what_is_common_practice_on_a_mirror_coat() -> None:
    thick = bond_advice("mirror coat", "thickened solvent cement")
    assert thick.verdict == "avoid"
    assert "blister" in thick.why
    thin = bond_advice("mirror coat", "thin capillary solvent")
    assert "never wiped" in thin.how
    assert bond_advice("mirror coat", "transfer tape").verdict == "suits"
    verdicts = sorted(bond_advice("mirror coat", adhesive).verdict for adhesive in ADHESIVES)
    assert verdicts == ["avoid", "avoid", "suits", "suits", "test first"]


def test_own_trials_stand_beside() -> None:
    trial = BondTrial(joint="laminate", adhesive="cyanoacrylate", verdict="avoid", note="bloomed")
    assert bond_advice("laminate", "cyanoacrylate", trials=(trial,)).trials == (trial,)
    assert bond_advice("laminate", "transfer tape", trials=(trial,)).trials == ()


def test_unknown_words_are_named() -> None:
    with pytest.raises(UnreadableError, match="no joint"):
        bond_advice("wood", "transfer tape")
    with pytest.raises(UnreadableError, match="no adhesive"):
        bond_advice("laminate", "string")


def test_what_to_look_for_depends_on_the_sheet() -> None:
    mirror = {check.code for check in checks_for(MIRRORED_ACRYLIC_3)}
    assert {"front-film-cut", "back-film-cut", "coat-scratch", "edge-craze"} <= mirror
    assert "edge-chip" in {check.code for check in checks_for(MIRRORED_GLASS_4)}
    assert not any(check.code.startswith("coat") for check in checks_for(CLEAR_ACRYLIC_3))
    assert all(check.from_front and check.then for check in checks_for(MIRRORED_ACRYLIC_3))
