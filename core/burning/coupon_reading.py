"""What a burned coupon tells: looks and line widths to figures (Bayes, all of them together).

The threshold fit and the bounds that looks would be, were they certain, stand beside it: they show a maker which
reading lies off.
"""

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from core.artwork.drawing import Finding
from core.burning.beam import Floats, Verdict, power_w
from core.burning.calibration import Estimate, LineWidth, ThresholdFit, fit_threshold
from core.burning.chance import OUTCOMES
from core.burning.coupon import Coupon
from core.burning.coupon_bounds import NO_BOUNDS, Bounds, clearing_bounds, doubts, frosting_bounds, warning
from core.burning.coupon_seen import CUT_LOOKS, FILL_LOOKS, CouponReading, GapSeen, PatchLook, PatchSeen, WidthSeen
from core.burning.focus_fit import fit_focus
from core.burning.learning import LineSeen, LookSeen, Posterior, Seen, learn
from core.burning.machines import Machine
from core.burning.patches import Patch
from core.burning.row_combs import PAIRS, RowShift, fit_row_shifts
from core.burning.unknowns import FIGURES, LEARNED, beliefs_of, from_scale, slope_at, with_figure
from core.errors import UnreadableError
from core.sheet.recipes import Origin, Recipe
from core.sheet.stock import Stock

TOLD_ERROR, TOLD_SHIFT = 0.9, 0.4
"""A figure is told when its standard error falls below this share of what it was, or it moves by so many of them."""
LEAST_TOGETHER = 0.05
GAP_ERROR_MM, MOST_KERF_MM = 0.05, 2.0
"""Of one gap measured with a caliper; our own guess. A wider kerf is none."""
FAR = 3.5
"""Standard errors from what was held of a figure; further is told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """What a reading tells; None where it tells nothing. ``fill`` and ``cut``: recipes it proved.

    Estimates hold what was known before, too. together: correlations of the figures told, on their scales. machine:
    whose spot it is.
    """

    spot_mm: Estimate | None = None
    clearing_dose_j_mm2: Estimate | None = None
    frosting_dose_j_mm2: Estimate | None = None
    coat_adding_s: Estimate | None = None
    sheet_adding_s: Estimate | None = None
    kerf_mm: Estimate | None = None
    focus_offset_mm: Estimate | None = None
    beam_quality_m2: Estimate | None = None
    beam_delay_ms: Estimate | None = None
    both_way_offset_mm: Estimate | None = None
    together: tuple[tuple[str, str, float], ...] = ()
    machine: str = ""
    fit: ThresholdFit | None = None
    clearing_bounds: Bounds = NO_BOUNDS
    frosting_bounds: Bounds = NO_BOUNDS
    fill: Recipe | None = None
    cut: Recipe | None = None
    findings: tuple[Finding, ...] = ()


def read_coupon(coupon: Coupon, reading: CouponReading) -> Learned:
    """What the reading tells, beside what the coupon's machine and stock hold already.

    Raises UnreadableError when nothing was read, a look is none of its patch or one of two, or line widths can't be
    fitted; JobError for unknown patches.
    """
    if not (reading.patches or reading.widths or reading.gaps or reading.pairs):
        raise UnreadableError("Nothing was read.", hint="Mark patches, or give line widths, a gap or pairs.")
    if reading.pairs:
        return _read_combs(coupon, reading)
    if coupon.kind == "focus-ladder" and reading.widths:
        return _read_ladder(coupon, reading)
    fit = _fit_of_widths(coupon, reading.widths) if reading.widths else None
    seen = _patches_seen(coupon, reading.patches)
    fills = [(patch, look) for patch, look in seen if patch.purpose == "fill"]
    clearing = clearing_bounds(fills, coupon.machine)
    frosting = frosting_bounds(fills, coupon.machine, coupon.stock)
    findings = [*(fit.findings if fit else ()), *doubts(clearing, "clearing"), *doubts(frosting, "frosting")]
    cut, cut_findings = _cut_recipe([(patch, look) for patch, look in seen if patch.purpose == "cut"], reading)
    learned = Learned(
        fit=fit,
        clearing_bounds=clearing,
        frosting_bounds=frosting,
        fill=_clean_recipe(fills, reading),
        cut=cut,
        kerf_mm=_kerf(coupon, reading.gaps) if reading.gaps else None,
        machine=coupon.machine.name,
        findings=(*findings, *cut_findings),
    )
    evidence = evidence_of(coupon, fills, reading.widths)
    return _with_figures(learned, coupon, evidence) if evidence else learned


def _read_ladder(coupon: Coupon, reading: CouponReading) -> Learned:
    """Best focus and Rayleigh range by the dose law, then spot and clearing dose with them."""
    lines = [(coupon.patch(one.label).recipe, one.width_mm) for one in reading.widths]
    fit = fit_focus(lines, coupon.machine)
    quality = replace(fit.m2, value=max(1.0, fit.m2.value))  # no beam is better than 1
    focused = replace(
        coupon, machine=replace(coupon.machine, focus_offset_mm=fit.offset_mm.value, beam_quality_m2=quality.value)
    )
    learned = Learned(
        focus_offset_mm=fit.offset_mm, beam_quality_m2=quality, machine=coupon.machine.name, findings=fit.findings
    )
    return _with_figures(learned, focused, evidence_of(focused, (), reading.widths))


def _read_combs(coupon: Coupon, reading: CouponReading) -> Learned:
    """Beam delay and the offset between directions. Raises UnreadableError for pairs that a comb does not have."""
    shifts: list[RowShift] = []
    along = -1 if coupon.read_from == "front" and coupon.turn == "sideways" else 1  # the bed's x in the frame read in
    upper_first = not (coupon.read_from == "front" and coupon.turn == "endways")
    for seen in reading.pairs:
        patch = coupon.patch(seen.label)
        pairs = [seen.pair] if seen.second is None else [seen.pair, seen.second]
        rows = round(patch.height_mm / patch.recipe.pitch_mm)
        if not patch.comb_step_mm or len(pairs) != rows:
            asked = {0: "has no comb", 1: "has one row, so one pair"}.get(
                rows if patch.comb_step_mm else 0, "has two rows, so two pairs"
            )
            raise UnreadableError(f"Patch {patch.label} {asked}.", hint="Give A1=2 for one row, A1=2/-3 for two.")
        for row, pair in enumerate(pairs):
            if not abs(pair) <= PAIRS // 2 + 0.5:
                raise UnreadableError(
                    f"Patch {patch.label} has no pair {pair:g}.", hint=f"They go from {-(PAIRS // 2)} to {PAIRS // 2}."
                )
            shifts.append(
                RowShift(
                    label=patch.label,
                    speed_mm_s=patch.recipe.speed_mm_s,
                    shift_mm=-along * pair * patch.comb_step_mm,
                    step_mm=patch.comb_step_mm,
                    second=rows == 2 and (row == 1) == upper_first,
                )
            )
    fit = fit_row_shifts(shifts)
    return Learned(
        beam_delay_ms=fit.beam_delay_ms,
        both_way_offset_mm=fit.both_way_offset_mm,
        machine=coupon.machine.name,
        findings=fit.findings,
    )


def _kerf(coupon: Coupon, gaps: Sequence[GapSeen]) -> Estimate:
    """The kerf: strips parted by n - 1 cuts in a frame leave a gap of n + 1 kerfs. Raises UnreadableError.

    Each cut takes half a kerf off either side, so n strips of a frame of width W come to W - n k, the frame to W + k.
    """
    kerfs = []
    for one in gaps:
        strips = coupon.patch(one.label).strips
        if strips < 2 or not (math.isfinite(one.gap_mm) and 0 < one.gap_mm < strips * MOST_KERF_MM):
            raise UnreadableError(
                f"Patch {one.label}: a gap of {one.gap_mm:g} mm gives no kerf.",
                hint="Give the gap that all strips together leave, in mm, like 1.65.",
            )
        kerfs.append((one.gap_mm / (strips + 1), GAP_ERROR_MM / (strips + 1)))
    kerf = float(np.mean([value for value, _ in kerfs]))
    error = math.sqrt(sum(one**2 for _, one in kerfs)) / len(kerfs)
    return Estimate(value=kerf, standard_error=error, low=max(0.0, kerf - 1.96 * error), high=kerf + 1.96 * error)


def evidence_of(
    coupon: Coupon, fills: Iterable[tuple[Patch, PatchLook]], widths: Iterable[WidthSeen]
) -> tuple[Seen, ...]:
    """The readings as the learning takes them."""
    looks = [LookSeen(label=patch.label, recipe=patch.recipe, look=_verdict(look)) for patch, look in fills]
    lines = [LineSeen(label=one.label, recipe=coupon.patch(one.label).recipe, width_mm=one.width_mm) for one in widths]
    return (*looks, *lines)


def _verdict(look: PatchLook) -> Verdict:
    return next(verdict for verdict in OUTCOMES if verdict == look)


def _with_figures(learned: Learned, coupon: Coupon, evidence: Sequence[Seen]) -> Learned:
    """With the figures that the evidence tells something new of, and what is odd about it."""
    prior = beliefs_of(coupon.machine, coupon.stock)
    found = learn(prior, coupon.machine, evidence)
    held = found.beliefs()
    shift = np.abs(held.means - prior.means) / prior.errors
    told = (held.errors < TOLD_ERROR * prior.errors) | (shift > TOLD_SHIFT)
    figures: dict[str, Any] = {
        name: estimate_of(name, float(held.means[k]), float(held.errors[k]), found.quantiles(k, (0.025, 0.975)))
        for k, name in enumerate(FIGURES)
        if told[k]
    }
    shares = held.covariance / np.outer(held.errors, held.errors)
    together = tuple(
        (FIGURES[i], FIGURES[j], round(float(shares[i, j]), 4))
        for i, j in itertools.combinations(np.flatnonzero(told).tolist(), 2)
        if abs(shares[i, j]) >= LEAST_TOGETHER
    )
    odd = _odd_findings(found, evidence, [LEARNED[k] for k in np.flatnonzero(shift > FAR)])
    return replace(learned, **figures, together=together, findings=(*learned.findings, *odd))


def estimate_of(name: str, mean: float, error: float, ends: Floats) -> Estimate:
    """A figure from its mean, standard error and the ends of its 95 % interval on its scale."""
    value, low, high = from_scale(name, np.array([mean, *ends]))
    return Estimate(value=float(value), standard_error=error / slope_at(name, mean), low=float(low), high=float(high))


def _odd_findings(found: Posterior, evidence: Sequence[Seen], far: Sequence[str]) -> list[Finding]:
    """Readings that are likely wrong, an error that all widths share, figures far from what was held of them."""
    findings = [
        warning(
            "odd-reading",
            f"Patch {one.label} ({_seen_words(one)}) does not fit the others: taken for a misreading. Look again.",
        )
        for one, wrong in zip(evidence, found.wrong, strict=True)
        if wrong > 0.5
    ]
    shared = float(found.weights @ found.shared_error_mm)
    spread = math.sqrt(max(0.0, float(found.weights @ found.shared_error_mm**2) - shared**2))
    if abs(shared) > 2 * spread:
        findings.append(
            warning(
                "shared-error",
                f"All widths seem to be read {abs(shared):.3f} mm too {'wide' if shared > 0 else 'narrow'}: check the "
                "loupe's scale. The figures allow for it.",
            )
        )
    for name in far:
        findings.append(
            warning("far-from-known", f"The {name} comes out far from what was held of it. Is it the right stock?")
        )
    return findings


def _seen_words(one: Seen) -> str:
    return one.look if isinstance(one, LookSeen) else f"{one.width_mm:.3f} mm"


def with_learned(stock: Stock, machine: Machine, learned: Learned, *, code: str, date: str) -> tuple[Stock, Machine]:
    """The profiles with what was learned, each figure with where it came from."""
    note = f"coupon {code}"
    for name in FIGURES:
        estimate: Estimate | None = getattr(learned, name)
        if estimate is None:
            continue
        if name == "spot_mm":
            machine = with_figure(machine, name, estimate.value, _measured(estimate, note, date))
        else:
            stock = with_figure(stock, name, estimate.value, _measured(estimate, note, date))
    if learned.kerf_mm is not None:
        stock = with_figure(stock, "kerf_mm", learned.kerf_mm.value, _measured(learned.kerf_mm, note, date))
    for name in ("focus_offset_mm", "beam_quality_m2", "beam_delay_ms", "both_way_offset_mm"):
        if (figure := getattr(learned, name)) is not None:
            machine = with_figure(machine, name, figure.value, _measured(figure, note, date))
    if learned.together:
        fresh = {frozenset(pair[:2]) for pair in learned.together}
        kept = tuple(pair for pair in stock.learned_together if frozenset(pair[:2]) not in fresh)
        stock = replace(stock, learned_together=(*kept, *learned.together), learned_on=learned.machine)
    if learned.fill:
        stock = replace(stock, fill=learned.fill)
    if learned.cut:
        stock = replace(stock, cut=learned.cut)
    return stock, machine


def _measured(estimate: Estimate, note: str, date: str) -> Origin:
    return Origin(kind="measured", date=date, note=note, standard_error=estimate.standard_error)


def _fit_of_widths(coupon: Coupon, widths: Sequence[WidthSeen]) -> ThresholdFit | None:
    recipes = [coupon.patch(seen.label).recipe for seen in widths]
    alike = {(recipe.speed_mm_s, recipe.passes, recipe.focus_mm) for recipe in recipes}
    if len(alike) > 1:
        return None  # no straight line goes through them; they are learned from all the same
    lines = [
        LineWidth(power_w=power_w(coupon.machine, recipe.power_pct), width_mm=seen.width_mm)
        for recipe, seen in zip(recipes, widths, strict=True)
    ]
    return fit_threshold(lines, speed_mm_s=recipes[0].speed_mm_s, passes=recipes[0].passes)


def _patches_seen(coupon: Coupon, seen: Iterable[PatchSeen]) -> list[tuple[Patch, PatchLook]]:
    """Each patch once, with its look. Raises UnreadableError for a look it can't have, or two of them."""
    looks: dict[str, tuple[Patch, PatchLook]] = {}
    for one in seen:
        patch = coupon.patch(one.label)
        possible = CUT_LOOKS if patch.purpose == "cut" else FILL_LOOKS
        if one.look not in possible:
            raise UnreadableError(
                f"Patch {patch.label} can't be “{one.look}”.", hint=f"Its looks are: {', '.join(possible)}."
            )
        _, before = looks.setdefault(patch.label, (patch, one.look))
        if before != one.look:
            raise UnreadableError(
                f"Patch {patch.label} can't be both “{before}” and “{one.look}”.", hint="Give it one look."
            )
    return list(looks.values())


def _clean_recipe(fills: Sequence[tuple[Patch, PatchLook]], reading: CouponReading) -> Recipe | None:
    """The recipe of the one patch that was marked clean; None when none or several were."""
    clean = [patch for patch, look in fills if look == "clean"]
    if len(clean) != 1:
        return None
    note = f"coupon {reading.code}, patch {clean[0].label}"
    return replace(clean[0].recipe, origin=Origin(kind="measured", date=reading.read, note=note))


def _cut_recipe(cuts: Sequence[tuple[Patch, PatchLook]], reading: CouponReading) -> tuple[Recipe | None, list[Finding]]:
    """The fastest cut that went through with no slower one holding on."""
    held = [patch.recipe.speed_mm_s for patch, look in cuts if look == "holds on"]
    through = [
        patch for patch, look in cuts if look == "through" and patch.recipe.speed_mm_s < min(held, default=math.inf)
    ]
    findings = []
    if any(look == "through" and patch.recipe.speed_mm_s > min(held, default=math.inf) for patch, look in cuts):
        findings.append(
            warning("cuts-contradict", "A slower cut held on where a faster one went through: check focus and air.")
        )
    if not through:
        return None, findings
    fastest = max(through, key=lambda patch: patch.recipe.speed_mm_s)
    note = f"coupon {reading.code}, patch {fastest.label}"
    return replace(fastest.recipe, origin=Origin(kind="measured", date=reading.read, note=note)), findings
