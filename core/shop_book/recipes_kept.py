"""Recipes of layers kept in the shop book under a name."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from core.job.decisions import with_recipe
from core.job.job import Job, Layer
from core.sheet.recipes import Origin
from core.shop_book.kinds import RecipeNote

if TYPE_CHECKING:
    from core.shop_book.entries import Entry
    from core.shop_book.store import ShopBook


def keep_recipe(
    book: "ShopBook",
    job: Job,
    layer: Layer,
    *,
    name: str,
    verdict: str = "",
    note: str = "",
    photos: Sequence[str] = (),
) -> "Entry":
    """Keep a layer's recipe; one of that name becomes this one, its state before stays in its history.

    Raises WriteError when the book can't be written.
    """
    stock_uuid, machine_uuid = (
        next((entry.uuid for entry in book.entries(kind) if entry.name == named), "")
        for kind, named in (("stock", job.stock.name), ("machine", job.machine.name))
    )
    value = RecipeNote(
        purpose=layer.purpose,
        recipe=layer.recipe,
        stock_uuid=stock_uuid,
        machine_uuid=machine_uuid,
        verdict=verdict,
        note=note,
        photos=tuple(photos),
    )
    with book.writing():
        same = next((entry for entry in book.entries("recipe") if entry.name == name), None)
        return book.change(same.uuid, value, note=note) if same else book.add("recipe", name, value, note=note)


def with_kept_recipe(job: Job, layer_id: str, kept: RecipeNote, *, name: str, stock: str) -> Job:
    """The job with a kept recipe on a layer. ``name``: what it is called, ``stock``: what it was kept for.

    On that very stock it stays what it was, measured or not; on any other it counts as set by hand.
    """
    origin = kept.recipe.origin if stock == job.stock.name else Origin(kind="set by hand")
    note = ", ".join(filter(None, (f"recipe “{name}” of the shop book", origin.note)))
    return with_recipe(job, layer_id, kept.recipe, origin=replace(origin, note=note))
