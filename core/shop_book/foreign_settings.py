"""Settings that an exported file brings along, beside the shop's own for the machine and stock of the same names."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from core.figures import figures_of
from core.job.coupon_job import coupon_job
from core.job.job import Job, Layer, standard_layers
from core.purposes import Purpose
from core.sheet.recipes import Recipe
from core.shop_book.comparing import differences
from core.shop_book.profiles import kept_values, known_machines, known_stocks


@dataclass(frozen=True, slots=True, kw_only=True)
class ForeignSetting:
    """One that differs: of what, which, and both in words."""

    of: str
    which: str
    in_file: str
    in_book: str


def foreign_settings(job: Job) -> tuple[ForeignSetting, ...]:
    """What differs of machine, stock and recipes from what the shop has under these names; nothing where it has none.

    Raises UnreadableError or WriteError where there is a shop book that can't be opened.
    """
    own = with_own_settings(job)
    found = [*_compared(f"Machine {job.machine.name}", job.machine, own.machine)]
    found += _compared(f"Stock {job.stock.name}", job.stock, own.stock)
    for layer, own_layer in zip(job.layers, own.layers, strict=True):
        found += _compared(f"Layer {layer.name}", layer.recipe, own_layer.recipe)
    return tuple(found)


def with_own_settings(job: Job) -> Job:
    """The job with machine and stock as the shop has them under these names, and its recipes. Raises as above.

    A recipe that the shop kept, or one of a coupon of its own, is the shop's too.
    """
    machine = next((one for one in known_machines() if one.name == job.machine.name), job.machine)
    stock = next((one for one in known_stocks() if one.name == job.stock.name), None)
    if stock is None:
        return replace(job, machine=machine)
    starting = {layer.purpose: layer.recipe for layer in standard_layers(stock)}
    strange = [layer for layer in job.layers if differences(layer.recipe, starting[layer.purpose])]
    kept = _kept(job) if strange else ()
    layers = tuple(
        replace(layer, recipe=starting[layer.purpose])
        if layer in strange and not any(_alike(layer, purpose, recipe) for purpose, recipe in kept)
        else layer
        for layer in job.layers
    )
    return replace(job, machine=machine, stock=stock, layers=layers)


def _kept(job: Job) -> tuple[tuple[Purpose, Recipe], ...]:
    """Recipes that the shop book holds, and those of its coupons whose code stands in the job's file."""
    notes = [(note.purpose, note.recipe) for note in kept_values("recipe")]
    source = job.source
    own = [one for one in kept_values("coupon") if source is not None and one.code.encode() in source.data]
    return (*notes, *((layer.purpose, layer.recipe) for coupon in own for layer in coupon_job(coupon).layers))


def _alike(layer: Layer, purpose: Purpose, recipe: Recipe) -> bool:
    return layer.purpose == purpose and not differences(layer.recipe, recipe)


def _compared(of: str, in_file: Any, in_book: Any) -> Iterator[ForeignSetting]:
    figures = {figure.name: figure for figure in figures_of(type(in_file))}
    for one in differences(in_file, in_book):
        figure = figures.get(one.figure)
        which = figure.words if figure is not None else one.figure.replace("_", " ").capitalize()
        yield ForeignSetting(of=of, which=which, in_file=_words(figure, one.first), in_book=_words(figure, one.second))


def _words(figure: Any, value: Any) -> str:
    if value is None:
        return "none"
    if figure is not None:
        return str(figure.value_words(value))
    if isinstance(value, int | float | str):
        return str(value)
    return _count_words(len(value)) if hasattr(value, "__len__") else "other"


def _count_words(count: int) -> str:
    return "one entry" if count == 1 else f"{count} entries"
