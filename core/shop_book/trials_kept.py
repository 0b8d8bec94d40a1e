"""Trials in the shop book: kept under their codes, read, ticked, and what they found remembered."""

from dataclasses import dataclass, replace
from datetime import date as calendar_date

from core.errors import TainError, UnreadableError
from core.shop_book.cautions_kept import keep_caution
from core.shop_book.coupons_kept import keep_coupon
from core.shop_book.entries import Entry
from core.shop_book.learning import keep_reading
from core.shop_book.store import ShopBook
from core.trouble.causes.caution import LearnedCaution
from core.trouble.trials.found import as_coupon, cautions_found
from core.trouble.trials.reading import TrialReading, read_trial
from core.trouble.trials.steps import steps_of
from core.trouble.trials.trial import StepDone, Trial, with_mark

KIND = "trial"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptTrial:
    """What a reading told, the cautions it left, and the profiles that learned doses; not_learned: why none did."""

    reading: TrialReading
    cautions: tuple[LearnedCaution, ...] = ()
    learned: tuple[str, ...] = ()
    not_learned: str = ""


def keep_trial(book: ShopBook, trial: Trial) -> Entry:
    """Keep the trial under its code, in place of an earlier state of it. Raises WriteError."""
    with book.writing():
        for entry in book.entries(KIND):
            if entry.name == trial.code:
                return entry if entry.value == trial else book.change(entry.uuid, trial)
        return book.add(KIND, trial.code, trial, note=trial.about)


def marked(book: ShopBook, code: str, grades: tuple[tuple[str, int | None], ...], *, date: str = "") -> KeptTrial:
    """The trial with these grades kept (None takes a patch's marks back), and what it tells now.

    What is found becomes cautions; what is about dose is learned once all patches count. Raises UnreadableError for
    no such trial or patch, WriteError.
    """
    date = date or calendar_date.today().isoformat()
    with book.writing():
        entry = book.find(KIND, code)
        trial: Trial = entry.value
        for label, grade in grades:
            trial = with_mark(trial, label, grade, read=date)
        if trial != entry.value:
            book.change(entry.uuid, trial)
        reading = read_trial(trial)
        cautions = cautions_found(reading, date=date)
        for caution in cautions:
            keep_caution(book, caution)
    learned, why = _learned(book, trial, reading)
    return KeptTrial(reading=reading, cautions=cautions, learned=learned, not_learned=why)


def ticked(book: ShopBook, code: str, key: str, *, at: str | None) -> Trial:
    """The trial with a step ticked at an ISO time, or its tick taken back. Raises UnreadableError for no such step."""
    with book.writing():
        entry = book.find(KIND, code)
        trial: Trial = entry.value
        keys = {step.key.casefold(): step.key for step in steps_of(trial)}
        if key.casefold() not in keys:
            raise UnreadableError(
                f"Trial {trial.code} has no step “{key}”.", hint=f"It has: {'; '.join(keys.values())}."
            )
        own = keys[key.casefold()]
        others = tuple(tick for tick in trial.ticks if tick.key != own)
        trial = replace(trial, ticks=others if at is None else (*others, StepDone(key=own, at=at)))
        book.change(entry.uuid, trial)
    return trial


def _learned(book: ShopBook, trial: Trial, reading: TrialReading) -> tuple[tuple[str, ...], str]:
    """Stock and machine learn doses from a trial about dose, as from a coupon; what they can't take is told."""
    found = as_coupon(trial) if reading.complete else None
    if found is None:
        return (), ""
    coupon, seen = found
    if any(value == seen for value in book.values("reading")):
        return (), ""
    try:
        with book.writing():
            keep_coupon(book, coupon)
            return keep_reading(book, coupon, seen, apply=True).changed, ""
    except TainError as error:
        return (), error.message
