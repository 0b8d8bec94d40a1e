"""The table of causes: every name in it leads somewhere, and every cause says what to do."""

import pytest

from core.errors import UnreadableError
from core.trouble.causes.cause import evidence
from core.trouble.causes.of_burning import BURNING_CAUSES
from core.trouble.causes.of_paint import PAINT_CAUSES
from core.trouble.causes.of_sheet import SHEET_CAUSES
from core.trouble.causes.table import BY_CODE, CAUSES, cause_named, causes_of
from core.trouble.faults import FAULTS
from core.trouble.looks import LOOKS
from core.trouble.trials.factors import KINDS


def test_codes_are_unique_and_all_causes_are_in_the_table():
    assert len(BY_CODE) == len(CAUSES) == len(PAINT_CAUSES) + len(BURNING_CAUSES) + len(SHEET_CAUSES)


@pytest.mark.parametrize("cause", CAUSES, ids=lambda cause: cause.code)
def test_faults_looks_and_factors_of_a_cause_are_known(cause):
    faults = {fault.code for fault in FAULTS}
    assert {fault for fault, _ in cause.faults} <= faults and cause.faults
    assert {look for look, _ in cause.looks} <= {look.code for look in LOOKS}
    assert set(cause.factors) <= set(KINDS)
    assert cause.rescue and cause.prevent and cause.source and cause.name


def test_every_fault_has_a_usual_cause_and_is_found_by_it():
    for fault in FAULTS:
        found = causes_of([fault.code])
        assert found, fault.code
        assert all(any(name == fault.code for name, _ in cause.faults) for cause in found)
    assert causes_of([]) == ()


def test_a_cause_is_named_whatever_its_case_and_strange_ones_are_told():
    assert cause_named(f" {CAUSES[0].code.upper()} ") is CAUSES[0]
    with pytest.raises(UnreadableError, match="no cause known"):
        cause_named("moon")


@pytest.mark.parametrize(("weight", "counts"), [(5, 2), (-7, -2), (1, 1)])
def test_evidence_counts_two_steps_at_most(weight, counts):
    found = evidence("words", weight)
    assert found is not None and found.weight == counts
    assert evidence("words", 0) is None
