"""What a trial found, as cautions to remember and as readings for the doses that are learned from scraps."""

import hashlib

from core.burning.coupon import Coupon
from core.burning.coupon_seen import CouponReading, PatchLook, PatchSeen
from core.trouble.causes.caution import About, Condition, ConditionFigure, LearnedCaution
from core.trouble.trials.factors import BURNED, FactorName
from core.trouble.trials.reading import FactorReading, TrialReading
from core.trouble.trials.trial import Trial

_CAUSES: dict[tuple[FactorName, str], str] = {
    ("wait_min", "low"): "recoat-too-early",
    ("wait_min", "high"): "recoat-too-late",
    ("coats", "low"): "too-few-coats",
    ("coats", "high"): "coat-too-thick",
    ("wet_um", "high"): "coat-too-thick",
    ("wet_um", "low"): "too-few-coats",
    ("primer", "low"): "not-clean",
    ("primer", "high"): "paints-disagree",
    ("wipe_down", "low"): "not-clean",
    ("wipe_down", "high"): "handling-marks",
    ("pitch_mm", "high"): "pitch-too-wide",
    ("pitch_mm", "low"): "dose-too-high",
    ("cured_edges", "low"): "edge-stress",
    ("cured_edges", "high"): "sheet-stressed",
}
_FIGURES: dict[FactorName, ConditionFigure] = {
    "wait_min": "wait_min", "coats": "coats", "wet_um": "wet_um", "pitch_mm": "pitch_mm",
}  # fmt: skip
_ENOUGH = 0.5
"""Levels at which at least this share came out faulty are those that a caution warns of. Ours."""
LOOKS: tuple[PatchLook, ...] = ("clean", "leaves lines", "frosts", "not reached")
"""The looks of a fill in the order of the scale's grades."""


def cautions_found(reading: TrialReading, *, date: str = "") -> tuple[LearnedCaution, ...]:
    """A caution for each factor that was found to make the difference; none while patches are missing."""
    return tuple(_caution(reading.trial, one, date) for one in reading.factors if one.found)


def as_coupon(trial: Trial) -> tuple[Coupon, CouponReading] | None:
    """The trial as a coupon with its reading, where it is about dose: bared patches judged as fills are; else None."""
    grades = trial.grades()
    if trial.paint is not None or trial.scale != "fill" or not grades:
        return None
    if not {factor.name for factor in trial.factors} <= set(BURNED) or trial.contradicted:
        return None
    piece = trial.piece(1)
    patches = tuple(one.patch for one in trial.patches)
    coupon = Coupon(
        code=_coupon_code(trial), kind="pitch-ladder", made=trial.made, width_mm=piece.width_mm,
        height_mm=piece.height_mm, read_from=trial.read_from, turn=trial.turn, stock=trial.stock, machine=trial.machine,
        patches=patches, labels=piece.labels,
    )  # fmt: skip
    seen = tuple(PatchSeen(label=label, look=LOOKS[grade]) for label, grade in grades.items())
    read = max((mark.read for mark in trial.marks), default="")
    return coupon, CouponReading(code=coupon.code, read=read, patches=seen, note=f"trial {trial.code}")


def _coupon_code(trial: Trial) -> str:
    """Its own code, so that neither is taken for the other in the shop book."""
    return "T" + hashlib.sha256(trial.code.encode()).hexdigest()[:4].upper()


def _caution(trial: Trial, found: FactorReading, date: str) -> LearnedCaution:
    factor = found.factor
    bad = [one for one in found.counts if one.read and one.bad >= _ENOUGH * one.read]
    names = [one.level for one in bad] or [found.worst]
    low = factor.levels.index(found.worst) < len(factor.levels) / 2
    worse = "low" if low else "high"
    figure = _FIGURES.get(factor.name)
    when: tuple[Condition, ...] = ()
    if figure is not None and factor.ordered:
        edge = max(map(float, names)) if low else min(map(float, names))
        when = (Condition(figure=figure, relation="at most" if low else "at least", value=edge),)
    about, thing = _about(trial, factor.name, found.worst)
    told = ", ".join(f"{one.bad} of {one.read} with {factor.level_words(one.level)}" for one in found.counts)
    text = f"here {thing} came out {trial.seen}: {told}"
    cause = _CAUSES.get((factor.name, worse), "rows-off" if factor.name == "scan_angle_deg" else "paints-disagree")
    return LearnedCaution(
        about=about, thing=thing, fault=trial.fault, cause=cause, when=when, trial=trial.code, text=text, date=date
    )


def _about(trial: Trial, factor: FactorName, worst: str) -> tuple[About, str]:
    if factor == "paint":
        return "paint", worst
    if factor == "scan_angle_deg":
        return "machine", trial.machine.name
    if factor == "pitch_mm" or trial.paint is None:
        return "stock", trial.stock.name
    return "paint", trial.paint.name
