"""A stock as one of its batches: what was learned of that batch, or what is to be expected of one nobody has burned."""

import math
from collections.abc import Sequence
from dataclasses import replace

from core.burning.unknowns import FIGURES, figure_origin, from_scale, measured_error, slope_at, standard_error, to_scale
from core.sheet.batches import NO_BATCH, Batch, BatchFigures
from core.sheet.recipes import Origin
from core.sheet.stock import Stock

OF_BATCHES = tuple(name for name in FIGURES if name != "spot_mm")
"""The figures that differ from batch to batch."""
USUAL_DIFFERENCE, USUAL_COUNT = 0.10, 2
"""Standard deviation between batches, as a share, and how many differences that guess is worth; our own."""


def of_batch(stock: Stock, batch: Batch) -> Stock:
    """The stock with the figures of a batch: its own where it was learned, else the stock's, widened by what batches
    differed so far; the stock's own for ``NO_BATCH``."""
    own = _own(stock)
    if not batch.named:
        return own
    known = [kept for kept in own.batches if kept.batch.named]
    mine = next((kept for kept in known if kept.batch == batch), None)
    figures = mine if mine is not None else _expected(own, batch, known)
    return _with(replace(own, batch=batch, batches=(*own.batches, _figures(own))), figures)


def learned_of_batch(stock: Stock, batch: Batch) -> bool:
    """Whether a scrap of the batch was read."""
    return any(kept.batch == batch for kept in stock.batches)


def with_batch_kept(stock: Stock, of_that_batch: Stock) -> Stock:
    """The stock, its own figures as they are, that keeps those of a batch as ``of_that_batch`` has them now.

    Recipes that were proved come along.
    """
    own = _own(stock)
    others = tuple(kept for kept in own.batches if kept.batch != of_that_batch.batch)
    kept = _figures(of_that_batch)
    return replace(own, batches=(*others, kept), fill=of_that_batch.fill, cut=of_that_batch.cut)


def _own(stock: Stock) -> Stock:
    """The stock as no batch of it."""
    if not stock.batch.named:
        return stock
    kept = next((one for one in stock.batches if not one.batch.named), None)
    plain = replace(stock, batch=NO_BATCH, batches=tuple(one for one in stock.batches if one.batch.named))
    return plain if kept is None else _with(plain, kept)


def _figures(stock: Stock) -> BatchFigures:
    return BatchFigures(
        batch=stock.batch,
        figures=tuple((name, getattr(stock, name), figure_origin(stock, name)) for name in OF_BATCHES),
        learned_together=stock.learned_together,
        learned_on=stock.learned_on,
    )


def _with(stock: Stock, kept: BatchFigures) -> Stock:
    values = {name: value for name, value, _ in kept.figures}
    origins = dict(stock.figure_origins)
    for name, _, origin in kept.figures:
        origins.pop(name, None)
        if origin != stock.origin:
            origins[name] = origin
    return replace(
        stock,
        **values,  # type: ignore[arg-type]  # fields of floats
        figure_origins=tuple(origins.items()),
        learned_together=kept.learned_together,
        learned_on=kept.learned_on,
    )


def _expected(own: Stock, batch: Batch, known: Sequence[BatchFigures]) -> BatchFigures:
    """What is to be expected of a batch that nobody has burned: the mean of all, with the spread of one more.

    The stock's own figure counts as one more batch, as sure as it is; the difference between batches is the usual guess
    and what was seen of it, weighted by how many differences each is worth.
    """
    if not known:
        return replace(_figures(own), batch=batch)
    note = f"expected of a batch not burned yet, from {len(known)} others"
    figures = []
    for name in OF_BATCHES:
        seen = [(value, origin) for kept in known for field, value, origin in kept.figures if field == name]
        places = [to_scale(name, value) for value, _ in seen]
        errors = [measured_error(origin, name, value) * slope_at(name, place)
                  for (value, origin), place in zip(seen, places, strict=True)]  # fmt: skip
        middle = sum(places) / len(places)
        apart = sum((place - middle) ** 2 for place in places)
        between = math.sqrt((USUAL_COUNT * USUAL_DIFFERENCE**2 + apart) / (USUAL_COUNT + len(places) - 1))
        start = to_scale(name, getattr(own, name))
        start_error = math.hypot(standard_error(own, name) * slope_at(name, start), between)
        weights = [1 / (error**2 + between**2) for error in errors] + [1 / start_error**2]
        mean = sum(w * p for w, p in zip(weights, [*places, start], strict=True)) / sum(weights)
        spread = math.sqrt(1 / sum(weights) + between**2)
        value = float(from_scale(name, mean))  # type: ignore[arg-type]  # a number is an array, too
        error = spread / slope_at(name, mean)
        figures.append((name, value, Origin(kind="starting point", note=note, standard_error=error)))
    return BatchFigures(batch=batch, figures=tuple(figures))
