"""Machines, stocks and paints to choose from: the shop book's where there is one, the starting profiles else."""

from dataclasses import replace
from typing import TypeVar

from core.burning.machines import STARTING_MACHINES, Machine
from core.finishing.bonding import BondTrial
from core.finishing.paints import STARTING_PAINTS, Paint
from core.job.job import Job, Layer, standard_layers
from core.sheet.stock import STARTING_STOCKS, Stock
from core.shop_book.store import ShopBook, book_path, open_book, starting_uuid

Profile = TypeVar("Profile", Machine, Stock)


def known_machines() -> tuple[Machine, ...]:
    """The shop book's machines, by name; the starting profiles where there is no book. Never makes a book.

    Raises UnreadableError or WriteError when there is one that can't be opened.
    """
    return kept_values("machine") or STARTING_MACHINES


def known_stocks() -> tuple[Stock, ...]:
    """The shop book's stocks, by name; the starting profiles where there is no book. Never makes a book.

    Raises UnreadableError or WriteError when there is one that can't be opened.
    """
    return kept_values("stock") or STARTING_STOCKS


def known_paints() -> tuple[Paint, ...]:
    """The shop book's paints, by name; the starting ones where it has none. Never makes a book. Raises as above."""
    return kept_values("paint") or STARTING_PAINTS


def known_bond_trials() -> tuple[BondTrial, ...]:
    """The shop's own bonding trials. Never makes a book. Raises as above."""
    return kept_values("bond")


def keep_paint(paint: Paint) -> None:
    """Put a paint into the shop book, or its figures in place of those kept under its name. Raises as above."""
    with open_book() as book:
        kept = next((entry for entry in book.entries("paint") if entry.name == paint.name), None)
        if kept is None:
            book.add("paint", paint.name, paint)
        else:
            book.change(kept.uuid, paint)


def keep_bond_trial(trial: BondTrial) -> None:
    """Add a bonding trial to the shop book. Raises as above."""
    with open_book() as book:
        book.add("bond", f"{trial.joint}, {trial.adhesive}", trial)


def with_known_profiles(job: Job) -> Job:
    """The job with machine and stock as the shop book has them now, found by name or as the starting profile they are.

    Recipes that are still the old stock's become the new one's; those the maker changed stay. For new jobs: a saved
    one keeps what it was saved with. Raises as above.
    """
    if not book_path().exists():
        return job
    with open_book() as book:
        machine, stock = _now(book, "machine", job.machine), _now(book, "stock", job.stock)
    fresh = {layer.id: layer for layer in standard_layers(stock)}
    untouched = {layer.id: layer.recipe for layer in standard_layers(job.stock)}

    def renewed(layer: Layer) -> Layer:
        same = untouched.get(layer.id) == layer.recipe
        return replace(layer, recipe=fresh[layer.id].recipe) if same else layer

    return replace(job, machine=machine, stock=stock, layers=tuple(map(renewed, job.layers)))


def kept_values(kind: str) -> tuple:  # type: ignore[type-arg]  # of that kind's values
    """All values of one kind that the shop book holds, none where there is no book yet. Raises as opening it does."""
    if not book_path().exists():
        return ()
    with open_book() as book:
        return book.values(kind)


def _now(book: ShopBook, kind: str, profile: Profile) -> Profile:
    entries = book.entries(kind)
    for entry in entries:
        if entry.uuid == starting_uuid(kind, profile.name):
            return entry.value  # type: ignore[no-any-return]
    return next((entry.value for entry in entries if entry.name == profile.name), profile)
