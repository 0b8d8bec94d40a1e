"""Advice on large artwork says what it is held on."""

from functools import partial

from app.commands import advise as command
from core.artwork.drawing import ArtworkSource
from core.burning.region_sample import edge_count, sample_of
from core.job import advising
from core.job.advising import advice_data, advise
from core.job.job import new_job
from core.job.prepare import prepare
from tests.benchmarks.sheets import clean_rings


def test_advice_on_part_of_the_artwork_says_so_everywhere(monkeypatch):
    plan = prepare(new_job(ArtworkSource(name="rings.svg", data=clean_rings(3_000))))
    (whole,) = advise(plan)
    assert whole.held_on == "" and "held on" not in " ".join(command._lines(whole))
    monkeypatch.setattr(advising, "sample_of", partial(sample_of, most_edges=1_000))
    (advice,) = advise(plan)
    region = next(layer.region for layer in plan.layers if layer.layer.purpose == "fill")
    assert f"of {edge_count(region):,} edges" in advice.held_on == advice_data(advice)["held_on"]
    assert advice.held_on in " ".join(command._lines(advice))
    assert advice.inset.before.region_mm2 < 0.5 * whole.inset.before.region_mm2
    assert advice.pitch == whole.pitch and advice.fastest == whole.fastest  # recipes and times are of all of it
