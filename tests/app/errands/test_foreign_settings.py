"""An exported file whose settings are not the shop's is shown beside them before anything is taken."""

from dataclasses import replace

import pytest

from core.job.job import new_job
from core.job.prepare import prepare
from core.output.export import export
from core.output.opening import load_source

pytestmark = pytest.mark.usefixtures("shared_window")


@pytest.fixture
def forged(plate, tmp_path):
    """An export that says ten times the speed, and a machine of a known name with another power."""
    job = new_job(load_source(plate))
    layers = tuple(replace(one, recipe=replace(one.recipe, speed_mm_s=one.recipe.speed_mm_s / 4)) for one in job.layers)
    path = tmp_path / "sent-bed.svg"
    export(prepare(replace(job, layers=layers, machine=replace(job.machine, rated_power_w=37.0))), path)
    return path


@pytest.mark.parametrize(("takes_own", "power_w"), [(True, 100.0), (False, 37.0)])
def test_they_are_shown_side_by_side_and_taken_as_told(window, forged, dialogs, settle, takes_own, power_w):
    shown = []

    def answer(dialog):
        shown.extend(dialog.table.texts())
        dialog.takes_own = takes_own
        return True

    dialogs.expect("run", answer)
    window.files.open(forged)
    settle(window)
    assert any(row[0].startswith("Machine ") and "37 W" in row[2] and "100 W" in row[3] for row in shown)
    assert any(row[0].startswith("Layer ") and "200 mm/s" in row[2] and "800 mm/s" in row[3] for row in shown)
    assert window.session.job.machine.rated_power_w == power_w
    speeds = {layer.recipe.speed_mm_s for layer in window.session.job.layers if layer.purpose == "fill"}
    assert speeds == {800.0 if takes_own else 200.0}


def test_turned_down_nothing_is_opened(window, forged, dialogs, settle):
    dialogs.expect("run", False)
    window.files.open(forged)
    settle(window)
    assert window.session.job.source is None


def test_an_export_with_the_shops_own_settings_opens_at_once(window, plate, tmp_path, settle):
    path = tmp_path / "own-bed.svg"
    export(prepare(new_job(load_source(plate))), path)
    window.files.open(path)
    settle(window)
    assert window.session.complete
