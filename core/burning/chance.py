"""The chance that a fill comes out clean: every seeded draw of the unknowns goes through the dose model.

All follows from the energy that a line gets per length in one pass, ``E = P/v``, since every dose is in proportion to
it. At a pitch each draw has three limits of E: from where a line reaches the coat at all, from where the widest gap
among many lines is bare, and from where the narrowest frosts the sheet. Hits count as ``(Σ Dᵢ^q)^(1/q)``,
q = 1/(1 - S): for N equal ones the incubation law ``F(N) = F(1) N^(S-1)`` (Y. Jee, M. F. Becker, R. M. Walser, J. Opt.
Soc. Am. B 5 (1988) 648), found for separate pulses and here an analogy; for unequal ones our own extension of it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.burning.beam import Floats, Verdict, power_w
from core.burning.machines import Machine
from core.burning.unknowns import DRAWN, Draws, Unknown, beliefs_of, draws_of
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock

OUTCOMES: tuple[Verdict, ...] = ("clean", "leaves lines", "frosts", "not reached")
WANTED = 0.90
"""The chance of a clean piece that advice keeps to unless the maker says otherwise."""
LEAST_DOUBT = 0.005
"""Below this share of spoilt draws nothing is said to matter most."""
_MOST_S = 0.995
_SLICES = 32
_MOST_LINES = 80


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """Shares of the draws that come out so; they add to 1. matters_most: what the doubt comes from, or None.

    shares: for each unknown that counts, how much of the doubt it makes (see ``_shares_of_doubt``), largest first.
    of_tones: of a screened picture: clean means tones held, lines means tones off.
    """

    clean: float
    leaves_lines: float
    frosts: float
    not_reached: float
    matters_most: Unknown | None = None
    shares: tuple[tuple[Unknown, float], ...] = ()
    of_tones: bool = False

    @property
    def good_word(self) -> str:
        """What comes out as it should, in a word or two."""
        return "tones held" if self.of_tones else "clean"

    @property
    def lines_word(self) -> str:
        """What ``leaves_lines`` counts, in a word or two."""
        return "tones off" if self.of_tones else "lines"

    @property
    def words(self) -> str:
        """``"clean 83 in 100; lines 4; frosts 13; the frosting dose matters most"``."""
        return chance_words(self)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Limits:
    """Energies of a line per length and pass, J/mm, (n,): from ``reach`` a line bares something, from ``clear`` the
    widest gap is bare, from ``frost`` on the sheet frosts."""

    reach: Floats
    clear: Floats
    frost: Floats


def fill_chance(recipe: Recipe, machine: Machine, stock: Stock, *, draws: Draws | None = None) -> Chance:
    """The chance of a wide fill. draws: the usual seeded ones where None. Raises JobError for a power out of range."""
    draws = draws if draws is not None else draws_of(beliefs_of(machine, stock), machine)
    energy = power_w(machine, recipe.power_pct) / recipe.speed_mm_s
    return chance_of_outcomes(outcomes(energy, limits(recipe, machine, draws)), draws)


def chance_of_outcomes(outcome: NDArray[np.uint8], draws: Draws) -> Chance:
    """The chance by what each draw comes to, as an index into ``OUTCOMES`` (n,)."""
    clean, lines, frosts, missed = (int(np.count_nonzero(outcome == code)) / len(draws) for code in range(4))
    shares = _shares_of_doubt(outcome == 0, draws)
    most = shares[0][0] if shares and min(clean, 1 - clean) >= LEAST_DOUBT else None
    return Chance(
        clean=clean, leaves_lines=lines, frosts=frosts, not_reached=missed, matters_most=most, shares=shares
    )  # fmt: skip


def outcomes(energy_j_mm: float, at: Limits) -> NDArray[np.uint8]:
    """What each draw comes to, as an index into ``OUTCOMES`` (n,); frosting is told first, it can't be mended."""
    result = np.zeros(len(at.frost), np.uint8)
    result[energy_j_mm < at.clear] = OUTCOMES.index("leaves lines")
    result[energy_j_mm < at.reach] = OUTCOMES.index("not reached")
    result[energy_j_mm >= at.frost] = OUTCOMES.index("frosts")
    return result


def limits(recipe: Recipe, machine: Machine, draws: Draws, *, pitch_mm: float | None = None) -> Limits:
    """The three limits of each draw at the recipe's passes and focus, at its pitch or another."""
    pitch = recipe.pitch_mm if pitch_mm is None else pitch_mm
    w = spots_at_coat_mm(recipe, machine, draws) / 2
    one = math.sqrt(2 / math.pi) / w * draws.power_share  # dose on a line's axis for 1 J/mm
    coat, sheet = (np.minimum(s, _MOST_S) for s in (draws.coat_s, draws.sheet_s))
    stray = math.sqrt(2) * machine.line_error_mm * draws.gap_deviation
    wide, narrow = pitch + stray, np.maximum(pitch - stray, 0.0)
    count = min(_MOST_LINES, math.ceil(2.2 * float(w.max()) / pitch) + 1)
    middle = _added(_around_gap(wide, pitch, count), w, coat)
    axis = _added(_around_line(np.full_like(w, pitch), pitch, count), w, coat)
    peak = np.maximum(
        _added(_around_line(narrow, pitch, count), w, sheet), _added(_around_gap(narrow, pitch, count), w, sheet)
    )
    coat_passes, sheet_passes = recipe.passes ** (1 - coat), recipe.passes ** (1 - sheet)
    reach = draws.clearing_dose_j_mm2 / (one * axis * coat_passes)
    with np.errstate(divide="ignore", over="ignore"):  # a far gap never clears
        clear = draws.clearing_dose_j_mm2 / (one * middle * coat_passes)
    return Limits(
        reach=reach, clear=np.maximum(clear, reach), frost=draws.frosting_dose_j_mm2 / (one * peak * sheet_passes)
    )


def spots_at_coat_mm(recipe: Recipe, machine: Machine, draws: Draws) -> Floats:
    """Spot diameters at the coat (n,), focus and its error included (see ``beam.defocused_spot_mm``)."""
    rayleigh = np.pi * draws.spot_mm**2 / (4e-3 * machine.beam_quality_m2 * machine.wavelength_um)
    off = (recipe.focus_mm - machine.focus_offset_mm + draws.focus_error_mm) / rayleigh
    result: Floats = draws.spot_mm * np.sqrt(1 + off**2)
    return result


def _around_gap(gap_mm: Floats, pitch_mm: float, count: int) -> Floats:
    """Distances of lines from the middle of a gap (n, 2 count), the nearest first; all other gaps are the pitch."""
    steps = pitch_mm * np.arange(count)
    return np.repeat(gap_mm[:, None] / 2 + steps, 2, axis=1)


def _around_line(gap_mm: Floats, pitch_mm: float, count: int) -> Floats:
    """Distances of lines from one beside a gap (n, 2 count + 1), its own first."""
    steps = pitch_mm * np.arange(count)
    own = np.zeros((len(gap_mm), 1))
    other_side = np.broadcast_to(steps + pitch_mm, (len(gap_mm), count))
    return np.hstack([own, gap_mm[:, None] + steps, other_side])


def _added(distances_mm: Floats, w: Floats, s: Floats) -> Floats:
    """Dose of lines at these distances (n, k) over one line's on its axis, added by the q-norm of each draw's S (n,).

    The nearest line is taken out of the sum, so that no power underflows.
    """
    ratio = 2 * (distances_mm / w[:, None]) ** 2
    nearest = ratio[:, :1]
    total = np.exp(-(ratio - nearest) / (1 - s)[:, None]).sum(1)
    result: Floats = np.exp(-nearest[:, 0]) * total ** (1 - s)
    return result


def _shares_of_doubt(clean: NDArray[np.bool_], draws: Draws) -> tuple[tuple[Unknown, float], ...]:
    """How much of the doubt goes when one unknown is known: its correlation ratio with coming out clean, sorted.

    Var(E[clean | unknown]) / Var(clean), the first-order index of I. M. Sobol', Math. Comput. Simul. 55 (2001) 271, by
    the means of equal slices of the draws; what slices differ by mere chance is taken off. Below that: left out.
    """
    variance = float(clean.var())
    if variance == 0.0:
        return ()
    size = len(draws) // _SLICES
    found = []
    for column, name in enumerate(DRAWN):
        order = np.argsort(draws.scores[:, column], kind="stable")[: size * _SLICES]
        means = clean[order].reshape(_SLICES, size).mean(1)
        share = (float(means.var()) - variance / size) / variance
        if share > 0.01:
            found.append((name, share))
    return tuple(sorted(found, key=lambda item: -item[1]))


def chance_words(chance: Chance) -> str:
    """The chance in words, with what matters most."""
    parts = [f"{chance.good_word} {in_hundred(chance.clean)} in 100"]
    rest = ((chance.lines_word, chance.leaves_lines), ("frosts", chance.frosts), ("not reached", chance.not_reached))
    parts += [f"{word} {in_hundred(share)}" for word, share in rest if share > 0]
    if chance.matters_most is not None:
        parts.append(f"the {chance.matters_most} matters most")
    return "; ".join(parts)


def in_hundred(share: float) -> str:
    """A share as so many in a hundred; what is neither none nor all is not told so."""
    if 0 < share < 0.005:
        return "under 1"
    if 0.995 < share < 1:
        return "over 99"
    return f"{100 * share:.0f}"


def chance_grid(
    recipe: Recipe, machine: Machine, draws: Draws, *, pitches_mm: Sequence[float], energies_j_mm: Sequence[float]
) -> Floats:
    """Shares of ``OUTCOMES`` for every energy and pitch (energies, pitches, 4), passes and focus as in the recipe.

    Energies: of a line per length and pass. The limits do not depend on them, so they are worked out once a pitch.
    """
    energies = np.asarray(energies_j_mm, float)
    result = np.zeros((len(energies), len(pitches_mm), len(OUTCOMES)))
    for at, pitch in enumerate(pitches_mm):
        found = limits(recipe, machine, draws, pitch_mm=float(pitch))
        frosts = _reached(found.frost, energies)
        missed = 1 - _reached(np.minimum(found.reach, found.frost), energies)
        unclear = 1 - _reached(np.minimum(found.clear, found.frost), energies)
        result[:, at] = np.column_stack([1 - frosts - unclear, unclear - missed, frosts, missed])
    return np.clip(result, 0.0, 1.0)


def _reached(limit: Floats, energies: Floats) -> Floats:
    """The share of limits at or below each energy."""
    return np.searchsorted(np.sort(limit), energies, side="right") / len(limit)
