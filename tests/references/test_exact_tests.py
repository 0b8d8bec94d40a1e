"""Exact tests and power against published worked tables and scipy's statistics.

Worked tables, values from memory of the sources unless the test works them out: R. A. Fisher, The Design of
Experiments, 1935, ch. 2 (the lady tasting tea); R. A. Fisher, J. R. Statist. Soc. 98 (1935) 39 (convictions of twins),
with the p values that the documentation of R's fisher.test prints; N. Mantel, J. Amer. Statist. Assoc. 58 (1963) 690
(penicillin and rabbits), exact p as in A. Agresti, Categorical Data Analysis, and R's mantelhaen.test; M. Hollander,
D. A. Wolfe, Nonparametric Statistical Methods, ch. 6 (knowledge of output and work); G. Smyth's documentation of
statmod's power.fisher.test ("70% chance of detecting difference").
"""

import itertools

import numpy as np
import pytest
from scipy import stats

from core.trouble.trials.exact import Table, difference_p, fisher_p, stratified_p, trend_p
from core.trouble.trials.power import least_p, patches_wanted, power


def table(a: int, b: int, c: int, d: int) -> Table:
    return Table(bad_first=a, first=a + b, bad_second=c, second=c + d)


def test_the_lady_tasting_tea() -> None:
    assert fisher_p(table(4, 0, 0, 4), "greater") == pytest.approx(1 / 70)
    assert fisher_p(table(3, 1, 1, 3), "greater") == pytest.approx(17 / 70)
    assert fisher_p(table(3, 1, 1, 3), "two-sided") == pytest.approx(34 / 70)


def test_convictions_of_twins() -> None:
    twins = table(2, 15, 10, 3)
    assert fisher_p(twins, "less") == pytest.approx(0.0004652, rel=1e-3)
    assert fisher_p(twins, "two-sided") == pytest.approx(0.0005367, rel=1e-3)


def test_penicillin_and_rabbits_in_strata() -> None:
    cured_and_died = [(0, 6, 0, 5), (3, 3, 0, 6), (6, 0, 2, 4), (5, 1, 6, 0), (2, 0, 5, 0)]
    assert stratified_p([table(*row) for row in cured_and_died], "two-sided") == pytest.approx(0.03994, rel=1e-3)


@pytest.mark.parametrize("side", ["greater", "less", "two-sided"])
def test_all_small_tables_agree_with_scipy(side) -> None:
    for a, b, c, d in itertools.product(range(5), range(5), range(5), range(5)):
        if a + b and c + d:
            ours = fisher_p(table(a, b, c, d), side)
            assert ours == pytest.approx(stats.fisher_exact([[a, b], [c, d]], alternative=side).pvalue, abs=1e-9)


def test_two_levels_of_grades_agree_with_the_exact_rank_sum_test() -> None:
    rng = np.random.default_rng(1)
    for _ in range(20):
        grades = rng.permutation(11)
        first, second = grades[:5], grades[5:]
        for side, theirs in (("greater", "less"), ("less", "greater"), ("two-sided", "two-sided")):
            expected = stats.mannwhitneyu(first, second, alternative=theirs, method="exact").pvalue
            assert trend_p([[first, second]], side, seed=1) == pytest.approx(expected)


def test_knowledge_of_output_and_work() -> None:
    """J = 79 and, by its large-sample approximation with ties, P = 0.021."""
    groups = [[40, 35, 38, 43, 44, 41], [38, 40, 47, 44, 40, 42], [48, 40, 45, 43, 46, 44]]
    arrays = [np.array(group) for group in groups]
    pairs = sum(
        (after > before) + 0.5 * (after == before)
        for one, other in itertools.combinations(groups, 2)
        for before in one
        for after in other
    )
    assert pairs == 79
    p = trend_p([arrays], "greater", seed=2)
    assert p == pytest.approx(0.0212, abs=0.005)
    theirs = stats.permutation_test(
        [np.repeat([0, 1, 2], 6)],
        lambda levels: sum(
            ((g2 > g1) + 0.5 * (g2 == g1))
            for (l1, g1), (l2, g2) in itertools.product(zip(levels, np.concatenate(arrays), strict=True), repeat=2)
            if l1 < l2
        ),
        permutation_type="pairings", n_resamples=1500, alternative="greater", rng=np.random.default_rng(3),
    )  # fmt: skip
    assert p == pytest.approx(theirs.pvalue, abs=0.012)


def test_means_of_levels_without_an_order_agree_with_a_permuted_analysis_of_variance() -> None:
    rng = np.random.default_rng(5)
    arrays = [rng.integers(0, 6, 3) for _ in range(3)]
    theirs = stats.permutation_test(
        arrays, lambda *groups: stats.f_oneway(*groups).statistic, permutation_type="independent", n_resamples=np.inf,
        alternative="greater",
    )  # fmt: skip
    assert difference_p([arrays], seed=1) == pytest.approx(theirs.pvalue)


@pytest.mark.parametrize(("each", "shares", "side"), [(4, (0.9, 0.1), "greater"), (7, (0.7, 0.2), "two-sided")])
def test_power_agrees_with_scipy_s_test_over_all_outcomes(each, shares, side) -> None:
    expected = sum(
        stats.binom.pmf(a, each, shares[0]) * stats.binom.pmf(b, each, shares[1])
        for a in range(each + 1)
        for b in range(each + 1)
        if stats.fisher_exact([[a, each - a], [b, each - b]], alternative=side).pvalue <= 0.05 + 1e-12
    )
    assert power(each, each, *shares, side=side) == pytest.approx(expected)


def test_power_of_twenty_against_twenty_is_what_is_published() -> None:
    assert power(20, 20, 0.5, 0.9, side="two-sided") == pytest.approx(0.70, abs=0.05)


def test_how_many_patches_are_wanted() -> None:
    each = patches_wanted(side="greater")
    assert each is not None
    assert power(each, each, 0.9, 0.1, side="greater") >= 0.8 > power(each - 1, each - 1, 0.9, 0.1, side="greater")
    assert least_p(2, 2, "greater") == pytest.approx(1 / 6)
    assert least_p(4, 4, "greater") == pytest.approx(1 / 70)
    assert patches_wanted(side="greater", shares=(0.5, 0.5)) is None
