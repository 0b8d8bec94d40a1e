"""Causes ranked: simulated shops, what speaks for and against, what is not known or does not go together."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from core.errors import UnreadableError
from core.trouble.case.case import Case, case_without_job
from core.trouble.case.noted import Done, Look, Noted, with_noted
from core.trouble.causes.table import CAUSES, causes_of
from core.trouble.changes import CHANGE_KEYS
from core.trouble.faults import BY_CODE, FAULTS, fault_named, faults_like
from core.trouble.looks import BY_CODE as LOOKS
from core.trouble.looks import look_answered
from core.trouble.ranking import MOST_SHARE, ranked, telling_looks
from tests.core.trouble.simulated_shops import KINDS, fill_facts, looked, paint_facts, worlds

CRACKED = BY_CODE["cracked"]


def diagnosed(world, rng):
    """The cause on top after the looks that are asked for, four at a time, were taken twice."""
    case = world.case
    for _ in range(2):
        found = ranked(case, [BY_CODE[world.seen]])
        codes = [look.code for look in found.looks]
        case = looked(replace(world, case=case), codes, rng)
    return ranked(case, [BY_CODE[world.seen]])


def test_in_simulated_shops_the_right_cause_stands_first_at_least_eight_times_in_ten():
    rng = np.random.default_rng(7)
    shops = worlds(20 * len(KINDS), seed=11)
    right = Counter()
    for world in shops:
        right[world.truth] += diagnosed(world, rng).causes[0].cause.code == world.truth
    assert sum(right.values()) >= 0.8 * len(shops), right


def test_a_table_without_evidence_would_not_pass_that():
    """The bound means something: what is usual alone is right far less often."""
    shops = worlds(4 * len(KINDS), seed=11)
    bare = [ranked(case_without_job(), [BY_CODE[world.seen]]).causes[0].cause.code for world in shops]
    assert sum(code == world.truth for code, world in zip(bare, shops, strict=True)) < 0.6 * len(shops)


def test_every_fault_has_causes_that_can_be_told_apart():
    for fault in FAULTS:
        causes = causes_of([fault.code])
        assert len(causes) >= 2, fault.code
        assert all(fault.front and fault.back for fault in FAULTS)
        assert telling_looks(Case(), ranked(Case(), [fault]).causes), fault.code


def test_the_table_names_only_what_there_is():
    assert len({cause.code for cause in CAUSES}) == len(CAUSES)
    for cause in CAUSES:
        assert {fault for fault, _ in cause.faults} <= set(BY_CODE)
        assert {code for code, _ in cause.looks} <= set(LOOKS)
        assert cause.change in ("", *CHANGE_KEYS)
        assert cause.rescue and cause.prevent and cause.source
    assert {cause.change for cause in CAUSES if cause.change} == set(CHANGE_KEYS)
    assert {code for cause in CAUSES for code, _ in cause.looks} == set(LOOKS)


def test_a_short_wait_speaks_for_recoating_too_early_with_its_figure():
    case = Case(known=True, paints=(paint_facts(),), noted=Noted(done=Done(between_coats_min=6)))
    top = ranked(case, [CRACKED]).causes[0]
    assert top.cause.code == "recoat-too-early"
    assert "6 min" in top.speaks_for[0].words and "20 asked" in top.speaks_for[0].words
    long = replace(case, noted=Noted(done=Done(between_coats_min=60)))
    assert ranked(long, [CRACKED]).causes[0].cause.code != "recoat-too-early"


def test_pitch_against_cleared_width_ranks_lines():
    wide = Case(known=True, fills=(fill_facts(pitch_mm=0.0847),))
    top = ranked(wide, [BY_CODE["scan-lines"]]).causes[0]
    assert top.cause.code == "pitch-too-wide"
    assert "0.0633 mm" in top.speaks_for[0].words and "0.0847 mm" in top.speaks_for[0].words


def test_nothing_is_told_as_sure():
    case = Case(known=True, paints=(paint_facts(),), noted=Noted(done=Done(between_coats_min=1),
                looks=(Look(code="lower-soft", yes=True),)))  # fmt: skip
    found = ranked(case, [CRACKED])
    assert all(one.share <= MOST_SHARE for one in found.causes)
    assert found.not_listed > 0
    assert all(one.likely != "most likely" for one in ranked(Case(), [BY_CODE["mirrored-word"]]).causes)


def test_answers_that_contradict_count_for_nothing_and_are_told():
    both = Noted(looks=(Look(code="lower-soft", yes=True), Look(code="lower-soft", yes=False)))
    found = ranked(Case(known=True, noted=both), [CRACKED])
    assert [finding.code for finding in found.findings] == ["marks-contradict"]
    shares = [one.share for one in found.causes]
    assert shares == [one.share for one in ranked(Case(known=True), [CRACKED]).causes]


def test_no_job_and_an_unknown_paint_are_told():
    found = ranked(case_without_job(Noted(paint="no such paint")), [CRACKED])
    assert {finding.code for finding in found.findings} == {"no-job", "paint-not-known"}
    assert found.causes


def test_two_faults_together_prefer_a_cause_that_shows_as_both():
    both = ranked(Case(), [CRACKED, BY_CODE["wrinkled"]]).causes[0]
    assert {"cracked", "wrinkled"} <= {fault for fault, _ in both.cause.faults}


@pytest.mark.parametrize(
    ("words", "code"),
    [("cracks", "cracked"), ("scan-lines", "scan-lines"), ("blister", "joint-blisters"), ("reversed", "mirrored-word"),
     ("wrinkles", "wrinkled"), ("flaking", "peeling"), ("scratches", "coat-marks"), ("sticky film", "burned-film")],
)  # fmt: skip
def test_faults_are_found_by_words(words, code):
    assert faults_like(words)[0].code == code
    assert fault_named(words).code == code


def test_words_that_mean_nothing_are_refused():
    assert faults_like("zebra") == ()
    assert faults_like("") == FAULTS
    for bad in ("zebra", "paint"):
        with pytest.raises(UnreadableError):
            fault_named(bad)
    for bad in ("temperature-c", "temperature-c=warm", "warmth=3", "coats=-2", "humidity-pct=nan", "coats=1e9"):
        with pytest.raises(UnreadableError):
            with_noted(Noted(), bad)
    for bad in ("rough-bare", "rough-bare=maybe", "zebra=yes", ""):
        with pytest.raises(UnreadableError):
            look_answered(bad)
    assert with_noted(Noted(), "temperature-c=-3.5").value("temperature_c") == -3.5


def test_what_was_ticked_off_counts_before_what_is_planned_and_after_what_is_noted():
    ticked = Case(known=True, paints=(paint_facts(ticked_wait_min=6.0, ticked_longest_min=6.0, ticked_coats=2),))
    top = ranked(ticked, [CRACKED]).causes[0]
    assert top.cause.code == "recoat-too-early" and "6 min between coats were ticked off" in top.speaks_for[0].words
    noted = replace(ticked, noted=Noted(done=Done(between_coats_min=60)))
    found = next(one for one in ranked(noted, [CRACKED]).causes if one.cause.code == "recoat-too-early")
    assert "60 min between coats were noted" in found.speaks_against[0].words
    few = Case(known=True, paints=(paint_facts(ticked_coats=1),))
    assert ranked(few, [BY_CODE["showing-through"]]).causes[0].speaks_for[0].words == (
        "white: 1 coats ticked off, it hides in 2"
    )
