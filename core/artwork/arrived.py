"""Artwork as it arrived, and what the maker decides about reading it: plain values that every job holds."""

from dataclasses import dataclass, field

from core.artwork.picture_decisions import PictureOptions
from core.errors import UnreadableError
from core.geometry.tolerance import DEFAULT_TOLERANCE_MM
from core.units import MM_PER_UNIT


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadOptions:
    """What the maker decides about reading a file.

    units: what one unit of the file is ("mm", "in", "px", ...), where the file does not say or says it wrong;
    None goes by the file. assume_units: used when the file does not say and ``units`` is None; None raises
    UnitsUnknownError instead. scale: factor on top (a 72/90/96 dpi mix-up). page: from 1, PDF only.
    arrives_reversed: the artwork is drawn as seen from the back; it is mirrored left to right once, at reading.
    picture: how pictures of pixels are taken, alone or inside SVG and PDF.
    """

    units: str | None = None
    assume_units: str | None = "px"
    scale: float = 1.0
    page: int = 1
    arrives_reversed: bool = False
    tolerance_mm: float = DEFAULT_TOLERANCE_MM
    picture: PictureOptions = field(default=PictureOptions(), metadata={"omit_default": True})


@dataclass(frozen=True, slots=True, kw_only=True)
class SortOptions:
    """How shapes are told apart.

    line_width_mm: a stroke this wide or thinner is a line, a wider one an area. white_keeps: what near-white paint
    over darker paint means: True keeps the coat there, False clears it like any paint, None is not decided yet
    (kept meanwhile, with a finding that asks).
    """

    line_width_mm: float = 0.3
    white_keeps: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ArtworkSource:
    """The file's name and its original bytes, as the job keeps them."""

    name: str
    data: bytes = field(repr=False)


def check_options(options: ReadOptions) -> None:
    """Raises UnreadableError where an option makes no sense."""
    if not (0 < options.scale < 1e6):
        raise UnreadableError(
            f"A scale of {options.scale:g} makes no artwork.", hint="Give a factor above zero, like 1."
        )
    if options.units is not None and options.units not in MM_PER_UNIT:
        raise UnreadableError(
            f"“{options.units}” is not a unit known here.", hint=f"Use one of {', '.join(MM_PER_UNIT)}."
        )
    if options.page < 1:
        raise UnreadableError(f"There is no page {options.page}.", hint="Pages count from 1.")
