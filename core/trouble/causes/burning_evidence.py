"""What pitch, dose, focus, cuts and machine of a job say about causes that lie in the burn."""

from collections.abc import Callable

from core.burning.chance import Chance, in_hundred
from core.trouble.case.case import Case, FillFacts
from core.trouble.causes.cause import MODEL, Evidence, Weight, evidence

LIKELY, HARDLY = 0.25, 0.03
"""Chances from which a look is taken to be foretold, and below which it is taken to be ruled out. Ours."""


def _worst(case: Case, share: Callable[[Chance], float]) -> tuple[FillFacts, float] | None:
    fills = [(fill, share(fill.chance)) for fill in case.fills if fill.chance is not None]
    return max(fills, key=lambda one: one[1]) if fills else None


def _weight(chance: float) -> Weight:
    if chance >= LIKELY:
        return 2
    if chance >= 0.1:
        return 1
    return -2 if chance < HARDLY else -1


def _doubtful(fill: FillFacts, weight: Weight) -> Weight:
    """Starting figures are guesses: they speak a step less loudly."""
    return weight if fill.measured or abs(weight) == 1 else (1 if weight > 0 else -1)


def pitch_wide(case: Case) -> Evidence | None:
    """Pitch against cleared width, and the chance of lines."""
    found = _worst(case, lambda chance: chance.leaves_lines)
    if found is None:
        return None
    fill, chance = found
    words = (
        f"{fill.name}: a line bares {fill.cleared_width_mm:.4f} mm, the pitch is {fill.pitch_mm:.4f} mm; lines stay in "
        f"{in_hundred(chance)} draws of 100"
    )
    if fill.cleared_width_mm and fill.pitch_mm > fill.cleared_width_mm:
        return evidence(words, 2, MODEL)
    return evidence(words, _doubtful(fill, _weight(chance)), MODEL)


def dose_low(case: Case) -> Evidence | None:
    """The dose on a line's axis against the clearing dose."""
    found = _worst(case, lambda chance: chance.leaves_lines + chance.not_reached)
    if found is None:
        return None
    fill, chance = found
    words = (
        f"{fill.name}: {fill.line_dose_j_mm2:.3g} J/mm² on a line, {fill.clearing_dose_j_mm2:.3g} clear the coat; coat "
        f"stays in {in_hundred(chance)} draws of 100"
    )
    return evidence(words, _doubtful(fill, _weight(chance)), MODEL)


def dose_high(case: Case) -> Evidence | None:
    """The peak dose against the frosting dose, and the chance of frosting."""
    found = _worst(case, lambda chance: chance.frosts)
    if found is None:
        return None
    fill, chance = found
    words = (
        f"{fill.name}: {fill.peak_dose_j_mm2:.3g} J/mm² at most, the sheet frosts from "
        f"{fill.frosting_dose_j_mm2:.3g}; it frosts in {in_hundred(chance)} draws of 100"
    )
    return evidence(words, _doubtful(fill, _weight(chance)), MODEL)


def focus_set_off(case: Case) -> Evidence | None:
    """The focus that the recipe asks for."""
    if not case.fills:
        return None
    fill = max(case.fills, key=lambda one: abs(one.focus_mm))
    if abs(fill.focus_mm) < 0.5:
        return None
    return evidence(f"{fill.name}: the focus is set {fill.focus_mm:g} mm off the coat", 1, MODEL)


def rows_off(case: Case) -> Evidence | None:
    """The machine's both-way offset, where it was read off a comb."""
    off_mm = case.both_way_offset_mm
    if not off_mm:
        return None
    pitch_mm = min((fill.pitch_mm for fill in case.fills), default=0.05)
    words = f"{case.machine}: rows that run back lie {off_mm:g} mm off the others along the row"
    return evidence(words, 2 if abs(off_mm) > pitch_mm else 1, "read off a comb")


def edges_as_drawn(case: Case) -> Evidence | None:
    """Spill at the edges."""
    if not case.fills:
        return None
    spill_mm = max(fill.cleared_width_mm / 2 for fill in case.fills)
    if all(fill.compensated for fill in case.fills):
        return evidence("outlines are compensated for what a line bares beyond them", -2, MODEL)
    return evidence(f"outlines are burned as drawn: coat goes up to {spill_mm:.3f} mm beyond them", 1, MODEL)


def datum_plays(case: Case) -> Evidence | None:
    """How far a later burn or a mask can lie off."""
    if case.datum_off_mm is None:
        return None
    laid_again = bool(case.burned_later or case.masked)
    words = f"put back on its datum the work lies up to {case.datum_off_mm:.2f} mm off"
    if not laid_again:
        return evidence("nothing is put back or masked after the burn", -2)
    return evidence(words, 1 if case.datum_off_mm >= 0.1 else -1, "worked out from the datum's play")


def cut_weak(case: Case) -> Evidence | None:
    """Speed, power and passes of the cut beside the stock's own."""
    if not case.cuts:
        return None
    cut = min(case.cuts, key=lambda one: one.power_pct * one.passes / one.speed_mm_s)
    share = (cut.power_pct * cut.passes / cut.speed_mm_s) / (cut.usual_power_pct / cut.usual_speed_mm_s)
    words = (
        f"{cut.name}: {cut.speed_mm_s:g} mm/s, {cut.power_pct:g} %, {cut.passes} x; {100 * share:.0f} % of what the "
        "stock's own cut puts in"
    )
    return evidence(words, 2 if share < 0.9 else -1 if share < 1.15 else -2, "the stock's cut recipe")


def sheet_thicker(case: Case) -> Evidence | None:
    """The sheet's thickness beside the one that the recipes are for."""
    if case.sheet_thickness_mm is None or case.stock_thickness_mm is None:
        return None
    thick, meant = case.sheet_thickness_mm, case.stock_thickness_mm
    words = f"the sheet is {thick:g} mm thick, the recipes are for {meant:g} mm"
    return evidence(words, 2 if thick > 1.05 * meant else -2)


def air_off(case: Case) -> Evidence | None:
    """Air at the nozzle while it cuts."""
    if not case.cuts:
        return None
    airs = {cut.air for cut in case.cuts}
    return evidence(f"air is {' and '.join(sorted(airs))} for the cuts", 2 if "off" in airs else -1)


def film_burned_on(case: Case) -> Evidence | None:
    """Whether film stays on the sheet while it burns."""
    if case.film_stays_on is None:
        return None
    if case.film_stays_on:
        return evidence("the sheet's own film stays on and is burned through", 2)
    return evidence("the back film is taken off before the burn", -1)


def kerf_left(case: Case) -> Evidence | None:
    """Whether lines are moved for the kerf."""
    if not case.cuts or case.kerf_mm is None:
        return None
    moved = all(cut.keeps_size for cut in case.cuts)
    off = case.noted.value("off_by_mm")
    if moved:
        return evidence(f"cut lines are moved for a kerf of {case.kerf_mm:g} mm", -2)
    words = f"lines are cut as drawn, the kerf takes {case.kerf_mm:g} mm"
    if off is None:
        return evidence(words, 1)
    near = 0.5 * case.kerf_mm <= off <= 1.6 * case.kerf_mm
    return evidence(f"{words}; {off:g} mm off were measured", 2 if near else -2)


def units_guessed(case: Case) -> Evidence | None:
    """Whether the file's units were taken for granted."""
    if case.units_doubtful is None:
        return None
    if case.units_doubtful:
        return evidence("the file does not say its units plainly", 2)
    return evidence("the file says its units", -1)


def turned_twice(case: Case) -> Evidence | None:
    """Whether the artwork may have arrived reversed, or was said to."""
    if case.arrives_reversed is None:
        return None
    if case.arrives_reversed:
        return evidence("the artwork was said to arrive reversed and was mirrored at reading", 1)
    if case.looks_reversed:
        return evidence("the artwork looks as if it had arrived reversed, and was not said to be", 2)
    return evidence("the artwork looks the right way round, and Tain turns it over once", -1)
