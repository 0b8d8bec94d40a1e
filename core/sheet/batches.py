"""Batches: one delivery of a stock. Doses belong to a batch, since coats differ between deliveries."""

from dataclasses import dataclass

from core.sheet.recipes import Origin


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """Who delivered it, which delivery it was (a date or a number), and the colour of the mirror; all may be empty."""

    supplier: str = ""
    delivery: str = ""
    colour: str = ""

    @property
    def named(self) -> bool:
        """Whether anything is said of it."""
        return bool(self.supplier or self.delivery or self.colour)

    @property
    def words(self) -> str:
        """``"Harbour Sheets, 2024-05, silver"``."""
        return ", ".join(part for part in (self.supplier, self.delivery, self.colour) if part)


NO_BATCH = Batch()


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchFigures:
    """What is held of one batch: (field of the stock, value, where it comes from). Of ``NO_BATCH``: the stock's own."""

    batch: Batch
    figures: tuple[tuple[str, float, Origin], ...]
    learned_together: tuple[tuple[str, str, float], ...] = ()
    learned_on: str = ""
