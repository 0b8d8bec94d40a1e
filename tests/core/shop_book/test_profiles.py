from dataclasses import replace

import pytest

from core.job.job import new_job, with_layer
from core.shop_book.profiles import with_known_profiles
from core.shop_book.store import open_book


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("TAIN_HOME", str(tmp_path))


def test_without_a_book_a_new_job_stays_as_it_is():
    assert with_known_profiles(new_job()) == new_job()


def test_a_new_job_uses_what_the_book_has_learned():
    with open_book() as book:
        stock, machine = book.find("stock", "mirrored acrylic 3"), book.find("machine", "flatbed")
        faster = replace(stock.value.fill, speed_mm_s=1000.0, power_pct=25.0)
        learned = replace(stock.value, name="quay mirror", clearing_dose_j_mm2=0.21, fill=faster)
        book.change(stock.uuid, learned)
        book.change(machine.uuid, replace(machine.value, spot_mm=0.15))
    job = with_known_profiles(new_job())
    assert job.stock == learned and job.machine.spot_mm == 0.15
    assert job.layers[0].recipe == faster
    by_hand = with_layer(new_job(), replace(new_job().layers[0], recipe=replace(faster, power_pct=33.0)))
    assert with_known_profiles(by_hand).layers[0].recipe.power_pct == 33.0


def test_a_stock_that_the_book_does_not_know_stays():
    with open_book():
        pass
    own = replace(new_job().stock, name="slate")
    assert with_known_profiles(replace(new_job(), stock=own)).stock == own
