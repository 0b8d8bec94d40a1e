"""Trials planned, laid, worked through and read: balance, lot, waits, words, and how often a find is false."""

import math
from collections import Counter
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise

import icalendar
import numpy as np
import pytest

from core.burning.machines import CO2_FLATBED
from core.errors import JobError, UnreadableError
from core.finishing.paints import Workday, starting_paint
from core.job.prepare import prepare
from core.output.export import export_bytes, problems
from core.sheet.stock import CLEAR_ACRYLIC_3, MIRRORED_ACRYLIC_3, MIRRORED_GLASS_4, PVC_3
from core.trouble.trials.design import crossed
from core.trouble.trials.factors import KINDS, STARTING_LEVELS, factor_from, worse_from
from core.trouble.trials.layout import trial_job
from core.trouble.trials.planning import USUAL_REPEATS, Ask, extended_trial, planned_trial, told_before
from core.trouble.trials.power import patches_wanted, power
from core.trouble.trials.reading import read_trial
from core.trouble.trials.scales import SCALES, scale_named, scale_of
from core.trouble.trials.steps import running, steps_of, trial_calendar, waits_kept
from core.trouble.trials.trial import StepDone, trial_bytes, trial_from_bytes, with_mark

WHITE = starting_paint("white", "#f6f5f0")


def planned(*factors, fault="cracked", repeats=4, **changed):
    asked = {
        "fault": fault, "factors": tuple(factor_from(one, fault) for one in factors), "stock": MIRRORED_ACRYLIC_3,
        "machine": CO2_FLATBED, "paint": WHITE, "repeats": repeats, "size_mm": (200.0, 150.0), "made": "2026-11-30",
    }  # fmt: skip
    return planned_trial(Ask(**{**asked, **changed}))


def marked(trial, bad):
    """The trial with every patch graded, bad where ``bad(patch)`` says so."""
    for one in trial.patches:
        trial = with_mark(trial, one.label, 2 if bad(one) else 0)
    return trial


def test_every_block_holds_every_treatment_once_and_the_seed_decides_the_order():
    factors = (factor_from("coats=1,2,3", "cracked"), factor_from("wait_min=10,60", "cracked"))
    cells = crossed(factors, repeats=3, seed=5)
    for block in (1, 2, 3):
        own = [cell.levels for cell in cells if cell.block == block]
        assert Counter(own) == Counter((coats, wait) for coats in "123" for wait in ("10", "60"))
    assert [cell.turn for cell in cells] == list(range(1, 19))
    assert crossed(factors, repeats=3, seed=5) == cells
    assert len({crossed(factors, repeats=1, seed=seed) for seed in range(40)}) > 30


def test_the_order_of_a_seed_stays_what_it_was():
    """Written down: another Python or another day must not shuffle a trial that is half done."""
    cells = crossed((factor_from("wait_min=10,60", "cracked"),), repeats=4, seed=1)
    assert [cell.levels[0] for cell in cells] == ["10", "60", "60", "10", "60", "10", "10", "60"]


def test_places_by_lot_are_even_over_many_seeds():
    first = Counter(
        crossed((factor_from("wait_min=10,60", "cracked"),), repeats=1, seed=s)[0].levels for s in range(400)
    )
    assert all(160 < count < 240 for count in first.values())


def test_the_bed_file_bares_every_patch_and_scores_labels_that_tell_nothing():
    trial = planned("wait_min=10,60")
    plan = prepare(trial_job(trial))
    assert not problems(plan)
    fills = [layer for layer in plan.layers if layer.layer.purpose == "fill" and layer.shape_ids]
    whole = sum(one.patch.width_mm * one.patch.height_mm for one in trial.patches)
    assert sum(layer.area_mm2 for layer in fills) == pytest.approx(whole)
    texts = [label.text for label in trial.piece(1).labels]
    assert texts[0].startswith(trial.code) and texts[1:] == [one.label for one in trial.patches]
    for suffix in (".svg", ".dxf"):
        assert export_bytes(plan, suffix)


def test_pitches_become_recipes_and_edges_become_cuts():
    pitches = planned("lpi=300,600", fault="scan-lines", paint=None)
    assert {round(one.patch.recipe.pitch_mm, 4) for one in pitches.patches} == {0.0847, 0.0423}
    assert pitches.factors[0].worse == "high"
    edges = planned("cured_edges=yes,no", fault="crazing", paint=None, stock=CLEAR_ACRYLIC_3)
    assert {one.patch.purpose for one in edges.patches} == {"cut"}
    assert not problems(prepare(trial_job(edges)))
    bare = planned("coats=1,2", stock=CLEAR_ACRYLIC_3)
    assert {one.patch.purpose for one in bare.patches} == {"score"}


def test_waits_that_are_tried_are_kept_to_the_minute_by_one_pair_of_hands():
    trial = planned("wait_min=10,60", "coats=2,3", repeats=2, workday=Workday(start="2026-12-01T09:00"))
    steps = steps_of(trial)
    by_key = {step.key: step for step in steps}
    hands = sorted((step.start, step.end) for step in steps if step.kind != "judge")
    assert all(before[1] <= after[0] for before, after in pairwise(hands))
    coats = 0
    for one in trial.patches:
        wait, count = float(one.levels[0]), int(one.levels[1])
        for coat in range(2, count + 1):
            step, before = by_key[f"{one.label} coat {coat}"], by_key[f"{one.label} coat {coat - 1}"]
            assert step.start - before.end == timedelta(minutes=wait) and step.exact
            coats += 1
        assert f"{one.label} coat {count + 1}" not in by_key
    assert coats == 2 * 2 * 1 + 2 * 2 * 2
    assert all(9 <= step.start.hour < 20 or step.start.hour == 8 for step in steps)
    events = icalendar.Calendar.from_ical(trial_calendar(trial)).walk("VEVENT")
    assert len(events) == len(steps)


def test_ticks_start_timers_and_waits_that_were_not_kept_are_told():
    trial = planned("wait_min=10,60", workday=Workday(start="2026-12-01T09:00"))
    now = datetime(2026, 12, 1, 9, 20)
    assert running(trial, now)[0][0].key == "burn"
    label = next(one.label for one in trial.patches if one.levels == ("10",))
    ticked = replace(trial, ticks=(StepDone(key="burn", at="2026-12-01T09:15:00"),
                                  StepDone(key=f"{label} coat 1", at="2026-12-01T09:18:00")))  # fmt: skip
    due = {step.key: minutes for step, minutes in running(ticked, now)}
    assert due[f"{label} coat 2"] == pytest.approx(8.0)
    late = replace(ticked, ticks=(*ticked.ticks, StepDone(key=f"{label} coat 2", at="2026-12-01T09:51:00")))
    assert waits_kept(late) == (f"{label} coat 2: 30 min after the step before, 10 were to be tried.",)
    assert "wait-not-kept" in {finding.code for finding in read_trial(late).findings}
    assert waits_kept(ticked) == ()


def test_three_of_four_against_none_is_said_in_words_with_its_chance():
    trial = planned("wait_min=10,60")
    short = [one.label for one in trial.patches if one.levels == ("10",)]
    reading = read_trial(marked(trial, lambda one: one.label in short[:3])).factors[0]
    assert reading.p == pytest.approx(4 / 56)  # C(4,3) C(4,0) / C(8,3): 1 way in 14
    assert reading.words.startswith("wait 10 min: 3 of 4 cracked; wait 60 min: 0 of 4. If the wait made no difference")
    assert "this way would come 7 times in 100" in reading.words
    assert not reading.found and reading.more_patches == 6
    assert "6 more patches that split the same way would settle it" in reading.words


def test_a_clear_split_is_found_and_its_mirror_image_is_not():
    trial = planned("wait_min=10,60")
    clear = read_trial(marked(trial, lambda one: one.levels == ("10",))).factors[0]
    assert clear.found and clear.worst == "10" and clear.p == pytest.approx(1 / 70)
    mirrored = read_trial(marked(trial, lambda one: one.levels == ("60",))).factors[0]
    assert not mirrored.found and mirrored.p == pytest.approx(1.0)


def test_ordered_levels_are_read_by_their_trend_and_two_factors_pay_for_both():
    trial = planned("coats=1,2,3", "wait_min=10,60", repeats=3)
    reading = read_trial(marked(trial, lambda one: one.levels[0] == "3"))
    coats, wait = reading.factors
    assert "trend" in coats.test and coats.found and coats.worst == "3"
    assert not wait.found and wait.p == pytest.approx(1.0, abs=0.5)


def test_half_read_and_contradicting_marks_are_kept_told_and_not_guessed_over():
    trial = with_mark(planned("wait_min=10,60"), "a1", 0)
    trial = with_mark(with_mark(trial, "A2", 0), "A2", 5)
    reading = read_trial(trial)
    assert reading.contradicted == ("A2",) and len(reading.unread) == 6 and not reading.complete
    assert not any(factor.found for factor in reading.factors)
    assert {"marks-contradict", "trial-half-read"} <= {finding.code for finding in reading.findings}
    assert len(trial.marks) == 3
    assert read_trial(with_mark(with_mark(trial, "A2", None), "A2", 5)).contradicted == ()
    with pytest.raises(UnreadableError):
        with_mark(trial, "Z9", 0)


def test_added_patches_lie_on_another_offcut_and_are_paid_for():
    trial = planned("wait_min=10,60")
    read = marked(trial, lambda one: one.levels == ("10",))
    more = extended_trial(read, repeats=2, size_mm=(120.0, 80.0))
    assert len(more.patches) == 12 and len({one.label for one in more.patches}) == 12
    assert more.extended == 1 and not problems(prepare(trial_job(more, 2)))
    all_read = marked(more, lambda one: one.levels == ("10",))
    assert read_trial(all_read).factors[0].p == pytest.approx(2 / math.comb(12, 6))
    assert extended_trial(trial, repeats=1, size_mm=(120.0, 80.0)).extended == 0


@pytest.mark.parametrize(("share", "factors"), [(0.5, ("wait_min=10,60",)), (0.3, ("coats=1,2,3", "wait_min=10,60"))])
def test_where_nothing_makes_a_difference_finds_are_no_commoner_than_told(share, factors):
    """The rate that is told: one trial in twenty. Three standard errors of 300 trials are let pass."""
    rng = np.random.default_rng(3)
    trial = planned(*factors, repeats=4 if len(factors) == 1 else 2)
    false = 0
    for _ in range(300):
        bad = dict(zip((one.label for one in trial.patches), rng.random(len(trial.patches)) < share, strict=True))
        false += any(one.found for one in read_trial(marked(trial, lambda one, bad=bad: bad[one.label])).factors)
    assert false / 300 <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / 300)


def test_what_a_trial_can_find_is_told_before_anything_is_painted():
    few = told_before(planned("wait_min=10,60", repeats=2))
    assert few[0].code == "too-few-patches" and "17 times in 100" in few[0].message
    enough = told_before(planned("wait_min=10,60", repeats=6, size_mm=(300.0, 200.0)))
    assert enough[0].code == "trial-finds"


def test_documents_come_back_whole_and_newer_or_broken_ones_are_refused():
    trial = marked(planned("wait_min=10,60", "paint=white,navy"), lambda one: one.label == "A1")
    data = trial_bytes(trial)
    assert trial_from_bytes(data, name="x") == trial
    broken = [
        data.replace(b'"tain_trial": 1', b'"tain_trial": 2'), data[: len(data) // 2], b"{}", b"[]", b"\xff\x00",
        data.replace(b'"A1"', b'"A2"'), data.replace(b'"seed": 1', b'"seed": "one"'),
        data.replace(b'"grade": 2', b'"grade": 2, "colour": "red"'), data.replace(b'"paint": {', b'"paint": [{', 1),
    ]  # fmt: skip
    for one in broken:
        assert one != data
        with pytest.raises(UnreadableError):
            trial_from_bytes(one, name="x")


@pytest.mark.parametrize(
    "text",
    ["coats", "coats=", "coats=2", "coats=1,1", "coats=1,2,3,4,5", "coats=1.5,2", "coats=0,1", "wait_min=a,b",
     "wait_min=nan,5", "zebra=1,2", "primer=yes", "primer=maybe,no", "pitch_mm=-1,2", "lpi=x,600", "=1,2",
     "wet_um=1e9,5"],
)  # fmt: skip
def test_factors_that_mean_nothing_are_refused(text):
    with pytest.raises(UnreadableError):
        factor_from(text, "cracked")


def test_trials_that_can_not_be_are_refused():
    for asked in ({"stock": PVC_3}, {"paint": None}, {"size_mm": (20.0, 20.0)}, {"size_mm": (math.nan, 20.0)}):
        with pytest.raises(JobError):
            planned("wait_min=10,60", **asked)
    with pytest.raises(JobError):
        planned("cured_edges=yes,no", stock=MIRRORED_GLASS_4)
    for repeats in (0, 13):
        with pytest.raises(UnreadableError):
            planned("wait_min=10,60", repeats=repeats)
    with pytest.raises(UnreadableError):
        planned("wait_min=10,60", "wait_min=5,7")
    with pytest.raises(UnreadableError):
        worse_from("wait_min=up")
    assert worse_from("wait-min=either") == ("wait_min", "either")


def test_scales_have_the_standards_six_steps():
    """ISO 4628 rates 0 to 5 and ISO 2409 classifies 0 to 5 (from memory of the titles and published summaries)."""
    for name in ("cracking", "blistering", "flaking", "cross-cut"):
        assert len(SCALES[name].grades) == 6 and "memory" in SCALES[name].source
        assert SCALES[name].grade_from("5") == 5
        with pytest.raises(UnreadableError):
            SCALES[name].grade_from("6")
    assert scale_of("cracked").name == "cracking" and scale_of("bled").name == "look"
    assert scale_named("look").grade_from("Bad") == 2
    with pytest.raises(UnreadableError):
        scale_named("zebra")


def test_looks_of_a_fill_have_no_order_and_count_by_the_fault_that_is_looked_for():
    asked = {"paint": None, "repeats": 4, "scale": scale_of("scan-lines", bare=True)}
    trial = planned("lpi=300,600,900", fault="scan-lines", **asked)
    assert trial.scale == "fill"
    looks = {"0.0847": 1, "0.0423": 0, "0.0282": 2}  # lines at the widest, frosted at the narrowest
    for one in trial.patches:
        trial = with_mark(trial, one.label, looks[one.levels[0]])
    lines = read_trial(trial).factors[0]
    assert [count.bad for count in lines.counts] == [0, 0, 4] and lines.found and lines.worst == "0.0847"
    frosted = read_trial(replace(trial, fault="frosted", factors=(replace(trial.factors[0], worse="low"),))).factors[0]
    assert [count.bad for count in frosted.counts] == [4, 0, 0] and frosted.worst == "0.0282"


def test_levels_to_start_from_are_levels_for_every_factor_but_the_paints_own_names():
    assert STARTING_LEVELS.keys() == KINDS.keys()
    for name, levels in STARTING_LEVELS.items():
        if name != "paint":
            assert len(factor_from(f"{name}={levels}", "").levels) == 2


def test_the_usual_repeats_of_two_levels_are_as_many_as_a_clear_difference_takes():
    assert power(USUAL_REPEATS, USUAL_REPEATS, 0.9, 0.1, side="greater") >= 0.8
    assert patches_wanted(side="two-sided") == USUAL_REPEATS + 1  # said beside it, and told before a trial is burned


def test_what_a_trial_can_find_does_not_hang_on_which_end_is_expected_to_be_worse():
    trial = planned("wait_min=10,60", repeats=6, size_mm=(300.0, 200.0))
    low, high = (
        told_before(replace(trial, factors=(replace(trial.factors[0], worse=worse),))) for worse in ("low", "high")
    )
    assert low == high and low[0].code == "trial-finds"
