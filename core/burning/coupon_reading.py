"""What a burned coupon tells: line widths to a threshold fit, looks of patches to bounds on the doses."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, TypeVar

from core.artwork.drawing import Finding
from core.burning.beam import fill_verdict, line_dose_j_mm2, power_w, spot_at_coat_mm
from core.burning.calibration import Estimate, LineWidth, ThresholdFit, fit_threshold
from core.burning.coupons import Coupon, Patch
from core.burning.machines import Machine
from core.errors import UnreadableError
from core.sheet.recipes import Origin, Recipe
from core.sheet.stock import Stock

PatchLook = Literal["clean", "leaves lines", "frosts", "not reached", "through", "holds on"]
Profile = TypeVar("Profile", Machine, Stock)

FILL_LOOKS: tuple[PatchLook, ...] = ("clean", "leaves lines", "frosts", "not reached")
CUT_LOOKS: tuple[PatchLook, ...] = ("through", "holds on")


@dataclass(frozen=True, slots=True, kw_only=True)
class PatchSeen:
    """How one patch of a coupon looks: a fill's or a cut's look."""

    label: str
    look: PatchLook


@dataclass(frozen=True, slots=True, kw_only=True)
class WidthSeen:
    """The width of one line of a patch, read through a loupe; 0 where nothing was bared. A patch may have several."""

    label: str
    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponReading:
    """What was seen on a coupon. ``read``: ISO date; ``photos``: paths."""

    code: str
    read: str = ""
    patches: tuple[PatchSeen, ...] = ()
    widths: tuple[WidthSeen, ...] = ()
    photos: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """A dose lies above ``low`` and at or below ``high`` (J/mm²); 0 and infinity where nothing bounds it.

    ``low_label`` and ``high_label`` name the patches that say so.
    """

    low: float = 0.0
    high: float = math.inf
    low_label: str = ""
    high_label: str = ""

    @property
    def closed(self) -> bool:
        """Bounded on both sides, and not against itself."""
        return 0.0 < self.low < self.high < math.inf

    @property
    def contradicted(self) -> bool:
        """One patch says above, another at or below."""
        return self.low >= self.high

    def estimate(self) -> Estimate:
        """The geometric middle. Any place between the bounds is as likely as another: standard error width / √12
        (JCGM 100:2008, Guide to the expression of uncertainty in measurement, 4.3.7)."""
        return Estimate(
            value=math.sqrt(self.low * self.high),
            standard_error=(self.high - self.low) / math.sqrt(12),
            low=self.low,
            high=self.high,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """What a reading tells; None where it tells nothing. ``fill`` and ``cut``: recipes it proved."""

    spot_mm: Estimate | None = None
    clearing_dose_j_mm2: Estimate | None = None
    frosting_dose_j_mm2: Estimate | None = None
    fit: ThresholdFit | None = None
    clearing_bounds: Bounds = Bounds()
    frosting_bounds: Bounds = Bounds()
    fill: Recipe | None = None
    cut: Recipe | None = None
    findings: tuple[Finding, ...] = ()


def read_coupon(coupon: Coupon, reading: CouponReading) -> Learned:
    """What the reading tells.

    Raises UnreadableError when nothing was read, a look is none of its patch or one of two, or line widths can't be
    fitted; JobError for unknown patches.
    """
    if not reading.patches and not reading.widths:
        raise UnreadableError("Nothing was read.", hint="Mark patches, or give line widths.")
    findings: list[Finding] = []
    fit = _fit_of_widths(coupon, reading.widths) if reading.widths else None
    machine = coupon.machine
    if fit:
        findings += fit.findings
        if _focus_mm(coupon, reading.widths) == 0.0:
            machine = replace(machine, spot_mm=fit.spot_mm.value)
        else:
            findings.append(_note("defocused-spot", "The lines were burned out of focus: the machine's spot was kept."))
    seen = _patches_seen(coupon, reading.patches)
    fills = [(patch, look) for patch, look in seen if patch.purpose == "fill"]
    clearing = clearing_bounds(fills, machine)
    frosting = frosting_bounds(fills, machine, coupon.stock)
    findings += _doubts(clearing, "clearing") + _doubts(frosting, "frosting")
    dose = fit.clearing_dose_j_mm2 if fit else clearing.estimate() if clearing.closed else None
    if fit and not (clearing.low <= fit.clearing_dose_j_mm2.high and fit.clearing_dose_j_mm2.low <= clearing.high):
        findings.append(
            _warning(
                "widths-and-patches-disagree",
                f"The line widths give a clearing dose of {fit.clearing_dose_j_mm2.value:.3f} J/mm², the patches one "
                f"from {clearing.low:.3f} to {clearing.high:.3f}: look again.",
            )
        )
    cut, cut_findings = _cut_recipe([(patch, look) for patch, look in seen if patch.purpose == "cut"], reading)
    return Learned(
        spot_mm=fit.spot_mm if fit and machine is not coupon.machine else None,
        clearing_dose_j_mm2=dose,
        frosting_dose_j_mm2=frosting.estimate() if frosting.closed else None,
        fit=fit,
        clearing_bounds=clearing,
        frosting_bounds=frosting,
        fill=_clean_recipe(fills, reading),
        cut=cut,
        findings=(*findings, *cut_findings),
    )


def clearing_bounds(fills: Iterable[tuple[Patch, PatchLook]], machine: Machine) -> Bounds:
    """What looks say of the clearing dose, each line for itself: clean means that the dose midway between two lines,
    from either alone, was enough; lines, that it was not; not reached, that not even the line's axis got enough."""
    above: list[tuple[float, str]] = []
    below: list[tuple[float, str]] = []
    for patch, look in fills:
        axis, midway = _line_doses(patch.recipe, machine)
        if look == "clean":
            below.append((midway, patch.label))
        elif look == "leaves lines":
            above.append((midway, patch.label))
            below.append((axis, patch.label))
        elif look == "not reached":
            above.append((axis, patch.label))
    return _bounds(above, below)


def frosting_bounds(fills: Iterable[tuple[Patch, PatchLook]], machine: Machine, stock: Stock) -> Bounds:
    """What looks say of the frosting dose, judged by the peak of the sum of all lines."""
    above: list[tuple[float, str]] = []
    below: list[tuple[float, str]] = []
    for patch, look in fills:
        peak = fill_verdict(patch.recipe, machine, stock).peak_dose_j_mm2
        (below if look == "frosts" else above).append((peak, patch.label))
    return _bounds(above, below)


def with_learned(stock: Stock, machine: Machine, learned: Learned, *, code: str, date: str) -> tuple[Stock, Machine]:
    """The profiles with what was learned, each figure with where it came from.

    Open bounds move a figure only as far as they must; what was measured more surely, and agrees, stays.
    """
    note = f"coupon {code}"
    if learned.spot_mm and not _surer(machine, "spot_mm", learned.spot_mm):
        machine = with_figure(machine, "spot_mm", learned.spot_mm.value, _measured(learned.spot_mm, note, date))
    doses = (
        ("clearing_dose_j_mm2", learned.clearing_dose_j_mm2, learned.clearing_bounds),
        ("frosting_dose_j_mm2", learned.frosting_dose_j_mm2, learned.frosting_bounds),
    )
    for name, estimate, bounds in doses:
        if estimate and not _surer(stock, name, estimate):
            stock = with_figure(stock, name, estimate.value, _measured(estimate, note, date))
        elif not estimate and not bounds.contradicted:
            old = getattr(stock, name)
            moved = min(max(old, bounds.low), bounds.high)
            if moved != old:
                origin = Origin(kind="measured", date=date, note=f"{note}: bounded on one side only")
                stock = with_figure(stock, name, moved, origin)
    if learned.fill:
        stock = replace(stock, fill=learned.fill)
    if learned.cut:
        stock = replace(stock, cut=learned.cut)
    return stock, machine


def with_figure(profile: Profile, name: str, value: float, origin: Origin) -> Profile:
    """A machine or stock with one figure set, and where it came from noted."""
    origins = {**dict(profile.figure_origins), name: origin}
    changes: dict[str, Any] = {name: value, "figure_origins": tuple(origins.items())}
    return replace(profile, **changes)


def figure_origin(profile: Machine | Stock, name: str) -> Origin:
    """Where one figure of a profile comes from."""
    return dict(profile.figure_origins).get(name, profile.origin)


def _surer(profile: Machine | Stock, name: str, estimate: Estimate) -> bool:
    """Whether the profile's figure was measured with a smaller error than the estimate's, and lies in its interval."""
    origin = figure_origin(profile, name)
    error = origin.standard_error if origin.kind == "measured" else None
    known: float = getattr(profile, name)
    return error is not None and error < estimate.standard_error and estimate.low <= known <= estimate.high


def _measured(estimate: Estimate, note: str, date: str) -> Origin:
    return Origin(kind="measured", date=date, note=note, standard_error=estimate.standard_error)


def _fit_of_widths(coupon: Coupon, widths: Sequence[WidthSeen]) -> ThresholdFit:
    recipes = [coupon.patch(seen.label).recipe for seen in widths]
    alike = {(recipe.speed_mm_s, recipe.passes, recipe.focus_mm) for recipe in recipes}
    if len(alike) > 1:
        raise UnreadableError(
            "The lines were burned at different speeds, passes or focus and can't be fitted together.",
            hint="Read the lines of one speed.",
        )
    lines = [
        LineWidth(power_w=power_w(coupon.machine, recipe.power_pct), width_mm=seen.width_mm)
        for recipe, seen in zip(recipes, widths, strict=True)
    ]
    return fit_threshold(lines, speed_mm_s=recipes[0].speed_mm_s, passes=recipes[0].passes)


def _focus_mm(coupon: Coupon, widths: Sequence[WidthSeen]) -> float:
    return coupon.patch(widths[0].label).recipe.focus_mm


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


def _line_doses(recipe: Recipe, machine: Machine) -> tuple[float, float]:
    """One line's dose on its axis and midway to the next line, all passes, J/mm²."""
    spot = spot_at_coat_mm(recipe, machine)
    watts = power_w(machine, recipe.power_pct) * recipe.passes
    axis, midway = line_dose_j_mm2(
        [0.0, recipe.pitch_mm / 2], power_w=watts, speed_mm_s=recipe.speed_mm_s, spot_mm=spot
    )
    return float(axis), float(midway)


def _bounds(above: list[tuple[float, str]], below: list[tuple[float, str]]) -> Bounds:
    low, low_label = max(above, default=(0.0, ""))
    high, high_label = min(below, default=(math.inf, ""))
    return Bounds(low=low, high=high, low_label=low_label, high_label=high_label)


def _doubts(bounds: Bounds, what: str) -> list[Finding]:
    if bounds.contradicted:
        return [
            _warning(
                "patches-contradict",
                f"Patch {bounds.low_label} puts the {what} dose above {bounds.low:.3f} J/mm², patch "
                f"{bounds.high_label} below {bounds.high:.3f}. Look at both again; nothing was taken from them.",
            )
        ]
    if bounds.closed and bounds.high > 1.5 * bounds.low:
        return [
            _note(
                "wide-bounds",
                f"The {what} dose lies between {bounds.low:.3f} (patch {bounds.low_label}) and {bounds.high:.3f} J/mm² "
                f"(patch {bounds.high_label}); patches with doses between them would tell more.",
            )
        ]
    if bounds.low > 0 and math.isinf(bounds.high):
        return [_note("one-sided", f"The {what} dose is above {bounds.low:.3f} J/mm²; no patch says how far.")]
    if bounds.low == 0 and bounds.high < math.inf:
        return [_note("one-sided", f"The {what} dose is at most {bounds.high:.3f} J/mm²; no patch says how low.")]
    return []


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
            _warning("cuts-contradict", "A slower cut held on where a faster one went through: check focus and air.")
        )
    if not through:
        return None, findings
    fastest = max(through, key=lambda patch: patch.recipe.speed_mm_s)
    note = f"coupon {reading.code}, patch {fastest.label}"
    return replace(fastest.recipe, origin=Origin(kind="measured", date=reading.read, note=note)), findings


def _warning(code: str, message: str) -> Finding:
    return Finding(code=code, message=message)


def _note(code: str, message: str) -> Finding:
    return Finding(code=code, message=message, severity="note")
