"""What a shop book entry holds in plain words, mm or inch, each figure with where it comes from and how sure it is."""

from collections.abc import Sequence
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from app.words.wording import count_text, duration_text, pitch_text, rounded, size_text
from core.artwork.sorting.rules import PurposeRule
from core.burning.bed_zones import zones_text
from core.burning.machines import Machine
from core.burning.power_table import power_table_text
from core.figures import Figure, all_figures_of, figures_for
from core.finishing.paints import Paint
from core.job.costs.rates import Rates
from core.job.letterhead import Letterhead
from core.sheet.batches import NO_BATCH, Batch
from core.sheet.placement import Sheet
from core.sheet.recipes import Origin, Recipe
from core.sheet.stock import Stock
from core.shop_book.kinds import JobDone
from core.trouble.case.noted import Noted
from core.units import MM_PER_INCH

if TYPE_CHECKING:
    from core.burning.run_time import TimeRange

WORDS: dict[str, tuple[str, str]] = {
    **{
        figure.name: (figure.words, figure.unit)
        for kind in (Paint, Sheet, Machine, Stock, Recipe, Rates, Letterhead)
        for figure in all_figures_of(kind)
    },
    "about": ("Kept with", ""),
    "adhesive": ("Adhesive", ""),
    "actual_s": ("Ran", "s"),
    "batch": ("Batch", ""),
    "backing": ("Backing", ""),
    "cause": ("Cause", ""),
    "caution_codes": ("Cautions", ""),
    "coat": ("Coat", ""),
    "code": ("Code", ""),
    "colour": ("Colour", ""),
    "conditions": ("Conditions", ""),
    "currency": ("Currency", ""),
    "customer": ("Customer", ""),
    "cut": ("Cut", ""),
    "date": ("Date", ""),
    "done": ("Burned", ""),
    "extended": ("Added to after reading", ""),
    "factors": ("What is varied", ""),
    "fault": ("What is seen", ""),
    "faults": ("What is seen", ""),
    "fill": ("Fill", ""),
    "film_back": ("Film on the back", ""),
    "film_front": ("Film on the front", ""),
    "flaws": ("Flaws", ""),
    "gaps": ("Gaps of strips", ""),
    "pairs": ("Pairs of combs", ""),
    "full": ("Full sheet", ""),
    "handwork_per_h": ("Handwork, for an hour", ""),
    "job": ("Of the job", ""),
    "joint": ("Joint", ""),
    "kind": ("Kind", ""),
    "limit": ("Faulty from grade", ""),
    "machine": ("Machine", ""),
    "machine_per_h": ("Machine, for an hour", ""),
    "made": ("Made", ""),
    "margin_pct": ("Margin on a quote", "%"),
    "marks": ("Grades", ""),
    "mask_film_per_m2": ("Mask film, for a square metre", ""),
    "note": ("Note", ""),
    "noted": ("Noted", ""),
    "outline": ("Size across", ""),
    "origin": ("Where it comes from", ""),
    "paint": ("Paint", ""),
    "paints": ("Painted with", ""),
    "patches": ("Patches", ""),
    "photo": ("Photo", ""),
    "photos": ("Photos", ""),
    "power_table": ("Power table", "W"),
    "predicted_s": ("Foreseen", "s"),
    "purpose": ("For", ""),
    "read": ("Read", ""),
    "read_from": ("Labels read from", ""),
    "recipe": ("Recipe", ""),
    "refused": ("Must not be burned", ""),
    "repeats": ("Repeats", ""),
    "rule": ("Rule", ""),
    "scale": ("Judged by", ""),
    "score": ("Score", ""),
    "seed": ("Seed of the lot", ""),
    "setup_min": ("Setting up a job", "min"),
    "sheet_per_m2": ("Sheet off the rack, for a square metre", ""),
    "reserved_for": ("Kept for", ""),
    "stacks": ("Coat under paint", ""),
    "stock": ("Stock", ""),
    "text": ("In words", ""),
    "thing": ("About", ""),
    "ticks": ("Steps done", ""),
    "trial": ("Trial", ""),
    "trials": ("Trials", ""),
    "turn": ("Turned over", ""),
    "verdict": ("How it came out", ""),
    "zones": ("Clamps and guides", "mm"),
    "where": ("Lies at", ""),
    "when": ("When", ""),
    "widths": ("Line widths", ""),
}
"""Words and unit of every field that is shown."""

NOT_SHOWN = (
    "name", "figure_origins", "batches", "learned_together", "learned_on", "settings", "timing", "stock_uuid",
    "machine_uuid", "labels", "cut_from", "titles", "captions", "workday", "sizes_mm",
)  # fmt: skip
"""Said elsewhere, or for the program alone."""

ORIGIN_WORDS = {
    "starting point": "starting point",
    "maker's sheet": "maker's sheet",
    "measured": "measured here",
    "set by hand": "set by hand",
}


def entry_lines(value: Any, *, inches: bool = False) -> list[str]:
    """One line a figure, ``"Clearing dose: 0.23 ± 0.004 J/mm² (measured here, 2026-05-01, coupon ABCDE)"``."""
    origins = dict(getattr(value, "figure_origins", ()))
    lines = []
    for field in fields(value):
        shown = getattr(value, field.name)
        if field.name in NOT_SHOWN or shown in ("", None, (), NO_BATCH):
            continue
        origin = origins.get(field.name)
        error = origin.standard_error if origin is not None else None
        told = f" ({origin_words(origin)})" if origin is not None else ""
        lines.append(f"{WORDS[field.name][0]}: {figure_text(field.name, shown, error=error, inches=inches)}{told}")
    if isinstance(value, JobDone) and value.actual_s:
        lines.append(
            f"Ran over foreseen: {100 * value.actual_s / value.predicted_s:.0f} %" if value.predicted_s else ""
        )
    return [line for line in lines if line]


def figure_text(name: str, value: Any, *, error: float | None = None, inches: bool = False) -> str:
    """A field's value in words, with its standard error and unit."""
    return _value_text(name, WORDS[name][1], value, error=error, inches=inches)


def _value_text(name: str, unit: str, value: Any, *, error: float | None = None, inches: bool = False) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name in ("actual_s", "predicted_s"):
        return duration_text(value)
    if isinstance(value, (int, float)):
        if name == "pitch_mm":
            return pitch_text(value, inches=inches)
        turned = inches and unit.startswith("mm")
        scale, unit = (MM_PER_INCH, unit.replace("mm", "in")) if turned else (1.0, unit)
        sure = f" ± {rounded(error / scale, 2)}" if error is not None else ""
        return f"{_plain(value / scale)}{sure}{'' if unit == '°' else ' '}{unit}".strip()
    if name == "power_table":
        return f"{power_table_text(value)} (% = W)"
    if name == "zones":
        return zones_text(value) or "none"
    if isinstance(value, Batch):
        return value.words
    if isinstance(value, PurposeRule):
        return value.sentence
    if isinstance(value, Recipe):
        return recipe_text(value, fill=name == "fill", inches=inches)
    if isinstance(value, Origin):
        return origin_words(value)
    if isinstance(value, Noted):
        return value.words
    if isinstance(value, (Machine, Stock, Paint)):
        return value.name
    if isinstance(value, tuple):
        return _many_text(name, value, inches=inches)
    return str(value)


def recipe_text(recipe: Recipe, *, fill: bool, inches: bool = False) -> str:
    """``"800 mm/s, 20 %, 0.0423 mm (600 LPI), air off; set by hand, 2026-05-01"``."""

    parts = [
        _setting_text(figure, getattr(recipe, figure.name), inches=inches)
        for figure in figures_for(type(recipe), "fill" if fill else "cut")
        if figure.name in _ALWAYS_TOLD or getattr(recipe, figure.name) != figure.default
    ]
    return f"{', '.join(parts)}; {origin_words(recipe.origin)}"


_ALWAYS_TOLD = ("speed_mm_s", "power_pct", "pitch_mm", "air")


def _setting_text(figure: Figure, value: Any, *, inches: bool) -> str:
    """``"800 mm/s"``, ``"2 passes"``, ``"focus 2 mm"``."""
    if figure.counted is not None:
        return count_text(value, *figure.counted)
    told = _value_text(figure.name, figure.unit, value, inches=inches)
    return told if figure.bare or figure.other_form is not None else f"{figure.words.lower()} {told}"


def origin_words(origin: Origin) -> str:
    """``"measured here, 2026-05-01, coupon ABCDE"``."""
    return ", ".join(word for word in (ORIGIN_WORDS.get(origin.kind, origin.kind), origin.date, origin.note) if word)


def compared_recipes(first: Recipe, second: Recipe, *, fill: bool, inches: bool = False) -> list[tuple[str, str, str]]:
    """Rows of (figure, first, second) of two recipes; what matters to fills only is left out of others."""
    rows = []
    for figure in figures_for(type(first), "fill" if fill else "cut"):
        one, other = (
            _value_text(figure.name, figure.unit, getattr(recipe, figure.name), inches=inches)
            for recipe in (first, second)
        )
        rows.append((figure.words, one, other))
    return [*rows, ("Where it comes from", origin_words(first.origin), origin_words(second.origin))]


def _plain(value: float) -> str:
    text = f"{value:.5g}"
    return rounded(value, 5) if "e" in text else text


def _many_text(name: str, values: Sequence[Any], *, inches: bool) -> str:
    if name == "outline":
        columns = list(zip(*values[0], strict=True))
        width_mm, height_mm = (max(column) - min(column) for column in columns)
        return size_text(width_mm, height_mm, inches=inches)
    if name == "gaps":
        return ", ".join(f"{one.label} {figure_text('width_mm', one.gap_mm, inches=inches)}" for one in values)
    if name == "pairs":
        return ", ".join(
            f"{one.label} {one.pair:g}{'' if one.second is None else f' and {one.second:g}'}" for one in values
        )
    if name == "widths":
        return ", ".join(f"{one.label} {figure_text('width_mm', one.width_mm, inches=inches)}" for one in values)
    if name == "caution_codes":
        return ", ".join(code.replace("-", " ") for code in values)
    if name == "breaks":
        return ", ".join(f"{number}: {off_pct:g} %" for number, off_pct in values)
    if name == "patches":
        return ", ".join(f"{one.label} {_patch_words(one)}" for one in values)
    if name == "marks":
        return ", ".join(f"{one.patch} {one.grade}" for one in values)
    if name in ("when", "factors"):
        return "; ".join(one.words for one in values)
    if name == "ticks":
        return count_text(len(values), "step", "steps")
    if name == "stacks":
        return "; ".join(
            f"{', '.join(one.paints)}: clears at {_plain(one.clearing_dose_j_mm2)} J/mm²" for one in values
        )
    if name == "trials":
        return "; ".join(
            ", ".join(filter(None, (one.stock, count_text(one.coats, "coat", "coats"), one.verdict, one.date)))
            for one in values
        )
    if all(isinstance(one, str) for one in values):
        return ", ".join(values)
    return str(len(values))


def _patch_words(patch: Any) -> str:
    """What was seen on a patch, what stands under it, or how it is treated."""
    if hasattr(patch, "levels"):
        return " and ".join(patch.levels)
    return str(patch.look if hasattr(patch, "look") else patch.caption)


WIDE_GAPS_UNKNOWN = (
    "It is not known yet whether the machine burns far parts of a row apart or sweeps the whole row, so the time is a "
    "range. A timed job tells."
)


def time_tip(time: "TimeRange") -> str:
    """What stands beside a run time that is pointed at."""
    return f"Run time of the whole job. {WIDE_GAPS_UNKNOWN}" if time.is_open else "Run time of the whole job"
