"""An order: one design, a list that fills its fields, and the sheets its parts are laid on. Immutable, as a Job is."""

from dataclasses import dataclass, field, replace
from typing import Literal

from core.job.job import Job
from core.order.fields import Field, Picked
from core.order.lists import NameList
from core.sheet.placement import Sheet

Way = Literal["list order", "densest"]
WAYS: tuple[Way, ...] = ("list order", "densest")
SPACING_MM = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPlace:
    """Where a part lies on its sheet: the design's page turned about its top left corner, then put at (x, y), mm."""

    part: int
    x_mm: float
    y_mm: float
    rotation_deg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidSheet:
    """One sheet of an order: label and id of the rack's piece (both empty for a sheet as the design has it)."""

    sheet: Sheet
    places: tuple[PartPlace, ...]
    label: str = ""
    piece_id: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What the maker has decided about many parts of one design.

    picked: texts without braces that were made fields. count_column: of the list, how many of each row; empty for one.
    rows_off: numbers of rows that nothing is made of. marks: part numbers scored into the waste. sheets: where all
    lies, empty until it is laid.
    """

    design: Job
    names: NameList | None = None
    fields: tuple[Field, ...] = ()
    picked: tuple[Picked, ...] = field(default=(), metadata={"omit_default": True})
    count_column: str = ""
    rows_off: tuple[int, ...] = ()
    way: Way = "list order"
    spacing_mm: float = SPACING_MM
    marks: bool = False
    sheets: tuple[LaidSheet, ...] = ()

    @property
    def is_job(self) -> bool:
        """Whether it is one job only: nothing was decided about many parts."""
        return self == Order(design=self.design)


def with_design(order: Order, design: Job) -> Order:
    """The order with the design changed; its parts lie nowhere then, but where only cautions were ticked."""
    if replace(design, cautions_ticked=order.design.cautions_ticked) == order.design:
        return replace(order, design=design)
    return replace(order, design=design, sheets=())
