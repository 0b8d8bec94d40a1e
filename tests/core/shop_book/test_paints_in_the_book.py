"""Paints and bonding trials kept in the shop book."""

import pytest

from core.finishing.bonding import BondTrial, bond_advice
from core.finishing.paints import STARTING_PAINTS, Paint, PaintTrial
from core.shop_book.profiles import known_bond_trials, known_paints
from core.shop_book.store import open_book


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("TAIN_HOME", str(tmp_path))


def test_without_a_book_there_are_the_starting_paints() -> None:
    assert known_paints() == STARTING_PAINTS
    assert known_bond_trials() == ()


def test_a_paint_with_its_trials_comes_back() -> None:
    trial = PaintTrial(stock="mirrored acrylic 3 mm", coats=3, verdict="covers", date="2026-03-02", photo="sea.jpg")
    paint = Paint(name="sea", colour="#1b8a8f", hides_in_coats=3, price=7.5, trials=(trial,))
    with open_book() as book:
        book.add("paint", paint.name, paint)
    assert known_paints() == (paint,)


def test_bonding_trials_stand_beside_the_advice() -> None:
    trial = BondTrial(joint="mirror coat", adhesive="transfer tape", verdict="suits", note="two years outside")
    with open_book() as book:
        book.add("bond", "tape on mirror", trial)
    advice = bond_advice("mirror coat", "transfer tape", trials=known_bond_trials())
    assert advice.trials == (trial,)
