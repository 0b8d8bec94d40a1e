"""What paint may be burned through: only what is known by its binder, its maker and a sheet that was read."""

from typing import get_args

import pytest

from core.finishing.binders import REFUSED, Binder, burn_refusal


@pytest.mark.parametrize("binder", REFUSED)
def test_what_harms_or_is_not_known_is_refused_whatever_was_read(binder):
    assert burn_refusal(maker="Tidewater Paints", binder=binder, sheet_read=True)


@pytest.mark.parametrize("binder", sorted(set(get_args(Binder)) - set(REFUSED)))
def test_any_other_asks_for_its_maker_and_for_the_sheet_to_be_read(binder):
    assert burn_refusal(maker="Tidewater Paints", binder=binder, sheet_read=True) == ""
    assert "safety data sheet" in burn_refusal(maker="Tidewater Paints", binder=binder, sheet_read=False)
    assert "maker" in burn_refusal(maker="  ", binder=binder, sheet_read=True)
    assert burn_refusal(maker="", binder=binder, sheet_read=False)


def test_chlorine_and_nitrate_are_named_for_what_they_do():
    assert "hydrogen chloride" in REFUSED["chlorinated"] and "burns fiercely" in REFUSED["cellulose nitrate"]
