"""The chance of a clean fill beside plain simulations of the same unknowns and of the lines themselves.

Propagation of distributions by a Monte Carlo method: JCGM 101:2008. What adds: Y. Jee, M. F. Becker, R. M. Walser, J.
Opt. Soc. Am. B 5 (1988) 648 (incubation; here an analogy), unequal hits by our own q-norm.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from core.burning.beam import power_w
from core.burning.chance import OUTCOMES, Chance, chance_grid, fill_chance, limits, outcomes
from core.burning.dose import line_peak_j_mm2
from core.burning.machines import CO2_FLATBED
from core.burning.unknowns import DRAWN, FIGURES, Draws, beliefs_of, draws_of, from_scale, to_scale
from core.sheet.recipes import Origin
from core.sheet.stock import MIRRORED_ACRYLIC_3
from core.units import pitch_mm_from_lpi
from tests.references.endless_lines import hatch_dose_j_mm2

FILL = MIRRORED_ACRYLIC_3.fill
STEADY = replace(CO2_FLATBED, line_error_mm=0.0)
USUAL = draws_of(beliefs_of(CO2_FLATBED, MIRRORED_ACRYLIC_3), CO2_FLATBED)


def burned(recipe, machine, random, s_bounds=((0.52, 1.0), (0.0, 1.0))):
    """What one real machine of the starting profile does: every line of a fill laid, every dose summed up plainly."""
    spot = 0.137 * math.exp(0.10 * random.normal())
    clearing, frosting = (dose * math.exp(0.25 * random.normal()) for dose in (0.19, 0.80))
    coat_s, sheet_s = (random.uniform(low, min(high, 0.99)) for low, high in s_bounds)
    watts = power_w(machine, recipe.power_pct) * math.exp(0.03 * random.normal())
    off = recipe.focus_mm + machine.focus_error_mm * random.normal()
    rayleigh = math.pi * spot**2 / (4e-3 * machine.beam_quality_m2 * machine.wavelength_um)
    w = spot / 2 * math.hypot(1.0, off / rayleigh)
    lines = recipe.pitch_mm * np.arange(1001) + machine.line_error_mm * random.normal(size=1001)
    peak = watts / recipe.speed_mm_s * math.sqrt(2 / math.pi) / w

    def counted(places, s):
        near = places[:, None] - np.stack([np.roll(lines, k) for k in range(-8, 9)], 1)[: len(places)]
        doses = peak * np.exp(-2 * (near / w) ** 2)
        q = 1 / (1 - s)
        return ((recipe.passes * doses**q).sum(1)) ** (1 / q)

    inner = slice(20, -20)
    middles = (lines[:-1] + lines[1:]) / 2
    coat_between, coat_on = counted(middles, coat_s)[inner], counted(lines, coat_s)[inner]
    sheet_most = max(counted(lines, sheet_s)[inner].max(), counted(middles, sheet_s)[inner].max())
    if sheet_most >= frosting:
        return "frosts"
    if np.median(coat_on) < clearing:
        return "not reached"
    return "clean" if coat_between.min() >= clearing else "leaves lines"


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"pitch_mm": pitch_mm_from_lpi(400)},
        {"pitch_mm": pitch_mm_from_lpi(450), "speed_mm_s": 675.0, "power_pct": 23.0},
        {"passes": 3, "power_pct": 16.0, "pitch_mm": pitch_mm_from_lpi(800)},
    ],
)
def test_chances_are_those_of_lines_laid_and_summed_one_by_one(changes):
    recipe, random = replace(FILL, **changes), np.random.default_rng(3)
    count = 240
    seen = [burned(recipe, CO2_FLATBED, random) for _ in range(count)]
    chance = fill_chance(recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    for name, share in zip(OUTCOMES, shares(chance), strict=True):
        error = math.sqrt(max(share * (1 - share), 0.01) / count)
        assert seen.count(name) / count == pytest.approx(share, abs=3 * error + 0.01), name


def shares(chance: Chance):
    return chance.clean, chance.leaves_lines, chance.frosts, chance.not_reached


def test_limits_are_those_of_endless_lines_where_none_strays():
    at = limits(replace(FILL, passes=2), STEADY, USUAL)
    w2 = 2 * spots(FILL, STEADY)
    peak = line_peak_j_mm2(power_w=USUAL.power_share, speed_mm_s=1.0, spot_mm=w2)
    same = {"peak_j_mm2": peak, "pitch_mm": FILL.pitch_mm, "spot_mm": w2, "passes": 2}
    coat_s, sheet_s = (np.minimum(s, 0.995) for s in (USUAL.coat_s, USUAL.sheet_s))
    clearing, frosting = USUAL.clearing_dose_j_mm2, USUAL.frosting_dose_j_mm2
    assert at.clear * hatch_dose_j_mm2(0.5, s=coat_s, **same) == pytest.approx(clearing, rel=1e-3)
    assert at.reach * hatch_dose_j_mm2(0.0, s=coat_s, **same) == pytest.approx(clearing, rel=1e-3)
    assert at.frost * hatch_dose_j_mm2(0.0, s=sheet_s, **same) == pytest.approx(frosting, rel=1e-3)


def spots(recipe, machine):
    from core.burning.chance import spots_at_coat_mm

    return spots_at_coat_mm(recipe, machine, USUAL) / 2


def test_common_practice_bounds_the_coats_s():
    """300 LPI leaves lines at the starting recipe: at the best figures that holds from S = 0.52 on."""
    best = {"power_w": power_w(CO2_FLATBED, 20.0), "speed_mm_s": 800.0, "spot_mm": 0.137}
    for s, lines in ((0.51, False), (0.53, True), (1.0, True)):
        between = hatch_dose_j_mm2(
            0.5, peak_j_mm2=line_peak_j_mm2(**best), pitch_mm=pitch_mm_from_lpi(300), spot_mm=0.137, s=s
        )
        assert bool(between < 0.19) is lines
    assert USUAL.coat_s.min() >= 0.52
    coarse = fill_chance(replace(FILL, pitch_mm=pitch_mm_from_lpi(300)), CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert coarse.clean < 0.1
    assert fill_chance(FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3).clean > 0.75


def test_draws_have_the_spreads_they_are_said_to_have():
    assert len(USUAL) >= 2000
    assert np.log(USUAL.spot_mm).std() == pytest.approx(0.10, rel=0.01)
    for doses, best in ((USUAL.clearing_dose_j_mm2, 0.19), (USUAL.frosting_dose_j_mm2, 0.80)):
        assert np.log(doses).std() == pytest.approx(0.25, rel=0.01)
        assert np.median(doses) == pytest.approx(best, rel=0.01)
    assert np.quantile(USUAL.coat_s, [0.25, 0.5, 0.75]) == pytest.approx([0.64, 0.76, 0.88], abs=0.01)  # any S alike
    assert np.quantile(USUAL.sheet_s, [0.25, 0.5, 0.75]) == pytest.approx([0.25, 0.5, 0.75], abs=0.015)
    assert np.corrcoef(USUAL.scores.T)[np.triu_indices(len(DRAWN), 1)] == pytest.approx(0.0, abs=0.06)


def test_a_measured_figure_has_its_own_spread():
    stock = replace(
        MIRRORED_ACRYLIC_3,
        figure_origins=(("clearing_dose_j_mm2", Origin(kind="measured", standard_error=0.0038)),),
    )
    draws = draws_of(beliefs_of(CO2_FLATBED, stock), CO2_FLATBED)
    assert np.log(draws.clearing_dose_j_mm2).std() == pytest.approx(0.02, rel=0.01)
    assert fill_chance(FILL, CO2_FLATBED, stock).clean > fill_chance(FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3).clean + 0.1


def test_what_was_learned_together_stays_together():
    stock = replace(
        MIRRORED_ACRYLIC_3,
        learned_together=(("clearing_dose_j_mm2", "coat_adding_s", 0.8), ("spot_mm", "clearing_dose_j_mm2", -0.5)),
        learned_on=CO2_FLATBED.name,
    )
    origins = (("spot_mm", Origin(kind="measured", standard_error=0.003)),)
    here = draws_of(beliefs_of(replace(CO2_FLATBED, figure_origins=origins), stock), CO2_FLATBED)
    scaled_s = [to_scale("coat_adding_s", s) for s in here.coat_s]
    assert np.corrcoef(np.log(here.clearing_dose_j_mm2), scaled_s)[0, 1] == pytest.approx(0.8, abs=0.02)
    assert np.corrcoef(np.log(here.clearing_dose_j_mm2), np.log(here.spot_mm))[0, 1] == pytest.approx(-0.5, abs=0.02)
    elsewhere = draws_of(beliefs_of(replace(CO2_FLATBED, name="another"), stock), CO2_FLATBED)
    assert abs(np.corrcoef(np.log(elsewhere.clearing_dose_j_mm2), np.log(elsewhere.spot_mm))[0, 1]) < 0.05


@pytest.mark.parametrize("name", FIGURES)
def test_scales_come_back(name):
    for value in (0.53, 0.6, 0.9, 0.99):
        assert float(from_scale(name, np.array(to_scale(name, value)))) == pytest.approx(value)


def test_the_grid_holds_the_chances_of_each_place():
    pitches = [pitch_mm_from_lpi(lpi) for lpi in (300, 600, 1000)]
    energies = [0.004, 0.02, 0.025, 0.06, 0.3]
    grid = chance_grid(FILL, CO2_FLATBED, USUAL, pitches_mm=pitches, energies_j_mm=energies)
    for row, energy in enumerate(energies):
        for column, pitch in enumerate(pitches):
            codes = outcomes(energy, limits(FILL, CO2_FLATBED, USUAL, pitch_mm=pitch))
            assert grid[row, column] == pytest.approx(np.bincount(codes, minlength=4) / len(codes), abs=1e-12)


def test_what_matters_most_is_what_would_take_most_of_the_doubt_away():
    """Sobol's first-order index by its definition: the variance that goes when one unknown is fixed, on average."""
    chance = fill_chance(FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    variance = chance.clean * (1 - chance.clean)
    beliefs, random = beliefs_of(CO2_FLATBED, MIRRORED_ACRYLIC_3), np.random.default_rng(9)
    dose = []
    for score in random.standard_normal(60):
        fixed = replace_figure(USUAL, clearing_dose_j_mm2=np.full(len(USUAL), 0.19 * math.exp(0.25 * score)))
        dose.append(fill_chance(FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3, draws=fixed).clean)
    assert beliefs.errors[1] == pytest.approx(0.25)
    assert chance.matters_most == "clearing dose"
    assert dict(chance.shares)["clearing dose"] == pytest.approx(np.var(dose) / variance, abs=0.13)


def replace_figure(draws: Draws, **figures):
    return replace(draws, **figures)
