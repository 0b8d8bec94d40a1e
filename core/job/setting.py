"""Figures set by name, ``fill.passes=2``: for the command line and whoever else has only words."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from core.burning.machines import Machine
from core.burning.unknowns import with_figure
from core.errors import UnreadableError
from core.figures import Figure, figures_of, parsed, parsed_other_form
from core.finishing.paints import MaskOptions
from core.job.datum import with_datum
from core.job.decisions import SET_BY_HAND, with_machine, with_recipe, with_sheet
from core.job.job import Job, Layer
from core.purposes import PURPOSES
from core.sheet.datum import Datum
from core.sheet.placement import Sheet
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock

WHOLE: dict[str, type[Any]] = {
    "sheet": Sheet, "stock": Stock, "machine": Machine, "datum": Datum, "masks": MaskOptions,
}  # fmt: skip
"""Besides purposes and layers' names: what else has figures to set."""


def with_settings(job: Job, settings: Iterable[str]) -> Job:
    """The job with figures set by hand, each as ``TARGET.FIGURE=VALUE``, one after the other.

    TARGET: a purpose, a layer's name, "sheet", "stock", "machine", "datum" or "masks". Raises UnreadableError.
    """
    for setting in settings:
        left, equals, value = setting.partition("=")
        target, dot, name = left.strip().rpartition(".")
        if not (equals and dot and target.strip() and name.strip() and value.strip()):
            raise UnreadableError(f"“{setting}” sets nothing.", hint="Write it like fill.passes=2.")
        job = with_setting(job, target.strip(), name.strip(), value)
    return job


def with_setting(job: Job, target: str, name: str, text: str) -> Job:
    """The job with one figure of the target set by hand, to what the text says. Raises UnreadableError."""
    folded = target.casefold()
    layers = [layer for layer in job.layers if folded in (layer.purpose, layer.name.casefold())]
    if folded in WHOLE and not layers:
        return _with_whole(job, folded, name, text)
    if not layers:
        known = dict.fromkeys((*PURPOSES, *WHOLE, *(layer.name for layer in job.layers)))
        raise UnreadableError(f"There is nothing called “{target}” to set.", hint=f"Name one of {', '.join(known)}.")
    for layer in layers:
        job = _with_recipe_figure(job, layer, name, text)
    return job


def value_of(kind: type[Any], name: str, text: str, *, of: str) -> tuple[str, Any]:
    """The field and the value that a figure's name, or its other form's, and a text mean. Raises UnreadableError."""
    wanted = name.casefold().replace("-", "_")
    for figure in figures_of(kind):
        if wanted == figure.name:
            return figure.name, parsed(figure, text, of=of)
        other = figure.other_form
        if other is not None and wanted in (other.name, other.unit.casefold()):
            return figure.name, parsed_other_form(figure, text, of=of)
    names = ", ".join(_names(figures_of(kind)))
    raise UnreadableError(f"“{name}” is no figure of {of}.", hint=f"It has {names}.")


def figure_lines(kind: type[Any]) -> list[str]:
    """One line a figure for a help text: name, words, limits with the unit."""
    lines = []
    for figure in figures_of(kind):
        lines.append(f"{figure.name:<24} {figure.words}, {figure.limits_words()}")
        if (other := figure.other_form) is not None:
            lines.append(f"{other.name:<24} {other.words}, instead of {figure.name}")
    return lines


def _with_recipe_figure(job: Job, layer: Layer, name: str, text: str) -> Job:
    recipe = layer.recipe
    field, value = value_of(Recipe, name, text, of=layer.name)
    if value == getattr(recipe, field):
        return job
    return with_recipe(job, layer.id, replace(recipe, **{field: value}))


def _with_whole(job: Job, target: str, name: str, text: str) -> Job:
    held = job.finishing.masks if target == "masks" else getattr(job, target)
    field, value = value_of(WHOLE[target], name, text, of=getattr(held, "name", f"the {target}"))
    if target == "datum":
        return with_datum(job, replace(job.datum, **{field: value}, places=()))
    if target == "masks":
        return replace(job, finishing=replace(job.finishing, masks=replace(job.finishing.masks, **{field: value})))
    if target == "sheet":
        return with_sheet(job, replace(job.sheet, **{field: value}))
    if target == "machine":
        return with_machine(job, with_figure(job.machine, field, value, SET_BY_HAND))
    return replace(job, stock=with_figure(job.stock, field, value, SET_BY_HAND))


def _names(figures: Iterable[Figure]) -> list[str]:
    return [name for one in figures for name in (one.name, *((one.other_form.name,) if one.other_form else ()))]
