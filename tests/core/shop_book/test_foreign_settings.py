"""What of a job is not the shop's: told figure by figure; what the shop has kept itself is never foreign."""

from dataclasses import replace

import pytest

from core.burning.coupons import make_coupon
from core.job.coupon_job import coupon_job
from core.job.job import new_job, with_layer
from core.shop_book.foreign_settings import ForeignSetting, foreign_settings, with_own_settings
from core.shop_book.kinds import RecipeNote
from core.shop_book.store import open_book


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("TAIN_HOME", str(tmp_path))
    return tmp_path


def with_speed(job, speed_mm_s):
    fill = next(one for one in job.layers if one.purpose == "fill")
    return with_layer(job, replace(fill, recipe=replace(fill.recipe, speed_mm_s=speed_mm_s)))


def test_a_new_job_has_nothing_foreign_and_no_book_is_made_by_asking(home):
    assert foreign_settings(new_job()) == () and list(home.iterdir()) == []


def test_each_figure_that_differs_is_told_beside_the_shops_own():
    own = new_job()
    strange = with_speed(replace(own, machine=replace(own.machine, rated_power_w=37.0)), 12.5)
    machine, layer = foreign_settings(strange)
    power, speed = own.machine.rated_power_w, own.layers[0].recipe.speed_mm_s
    assert machine == ForeignSetting(
        of=f"Machine {own.machine.name}",
        which="Rated power",
        in_file="rated power 37 W",
        in_book=f"rated power {power:g} W",
    )
    assert layer.of == f"Layer {own.layers[0].name}"
    assert (layer.in_file, layer.in_book) == ("12.5 mm/s", f"{speed:g} mm/s")
    assert with_own_settings(strange) == own


def test_it_is_the_book_that_counts_where_there_is_one():
    with open_book() as book:
        entry = book.find("machine", new_job().machine.name)
        book.change(entry.uuid, replace(entry.value, rated_power_w=37.0))
    (found,) = foreign_settings(new_job())
    assert found.in_book == "rated power 37 W"
    assert with_own_settings(new_job()).machine.rated_power_w == 37.0


def test_names_that_the_shop_does_not_have_are_compared_with_nothing():
    job = new_job()
    strange = replace(job, machine=replace(job.machine, name="Borrowed", rated_power_w=1.0))
    strange = with_speed(replace(strange, stock=replace(strange.stock, name="slate")), 12.5)
    assert foreign_settings(strange) == () and with_own_settings(strange) == strange


def test_a_recipe_that_the_shop_kept_is_its_own_for_its_purpose_only():
    strange = with_speed(new_job(), 12.5)
    kept = strange.layers[0].recipe
    with open_book() as book:
        entry = book.add("recipe", "Of another purpose", RecipeNote(purpose="cut", recipe=kept))
    assert len(foreign_settings(strange)) == 1
    with open_book() as book:
        book.change(entry.uuid, RecipeNote(purpose="fill", recipe=kept))
    assert foreign_settings(strange) == () and with_own_settings(strange) == strange


def test_a_coupon_of_the_shops_own_is_known_by_its_code():
    """Its patches are burned on purpose with what no recipe of the shop says."""
    job = new_job()
    coupon = make_coupon("speed-power", job.stock, job.machine, width_mm=90.0, height_mm=60.0)
    made = coupon_job(coupon)
    assert foreign_settings(made)
    with open_book() as book:
        book.add("coupon", coupon.code, coupon)
    assert coupon.code.encode() in made.source.data and foreign_settings(made) == ()
