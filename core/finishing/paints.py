"""Paints, and what the maker decides about finishing a piece. Plain data: kept in the job and in the shop book.

Every figure a new paint starts with is common practice or invented, as its origin says; the can's own words win.
"""

import colorsys
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

from core.figures import COLOUR, figure
from core.finishing.binders import Binder
from core.finishing.films import CutBy, FilmKind
from core.finishing.ticking import StepTick
from core.sheet.recipes import Origin

PaintKind = Literal["spray", "brush", "marker", "film"]

PAINT_KINDS: tuple[PaintKind, ...] = ("spray", "brush", "marker", "film")
Way = Literal["mask", "burn"]
"""How a colour is kept off areas that wait: they are masked, or they are burned later."""
BARE = "bare"
"""In place of a paint's name: the area stays bared, light shows through."""

AS_THE_CAN_SAYS = "Temperature and humidity as the can says; cold or damp air lengthens every wait."


_COMMON = Origin(
    note="Waits are common practice, no source: 15 to 20 min between light spray coats, about an hour before the next "
    "mask, overnight before handling. Spreading rate, loss and hiding are invented: take them from the data sheet."
)
_INVENTED = Origin(note="Invented to start with, no source; the data sheet and a trial on a scrap win.")


@dataclass(frozen=True, slots=True, kw_only=True)
class PaintTrial:
    """What a trial on a scrap showed. ``photo`` is a path."""

    stock: str
    coats: int
    verdict: str
    date: str = ""
    note: str = ""
    photo: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paint:
    """A paint as it is used here.

    colour: "#rrggbb" as it looks from the front. between_coats_min: from one coat to the next; recoat_within_min: no
    later than this, else it is to be abraded or tried first (0: the can names no limit). mask_after_min: from the
    last coat to laying a mask on it. cure_h: from the last coat to handling the piece. hides_in_coats: so many coats
    let nothing behind them show. backing_coats: coats of the paint named ``backing`` sprayed through the same mask.
    spreading_rate_m2_l: one coat without losses. loss_share: overspray and what stays in the can, 0 to below 1.
    price: of one can or pen, of film a square metre, in the shop's own currency. maker, binder, sheet_read: must be
    known before anything is burned through it.
    """

    # fmt: off
    name: str
    colour: str = figure(words="Colour", pattern=COLOUR, about="Write it like #1c1c1c.")
    kind: PaintKind = figure("spray", words="Kind", always_kept=True)
    coats: int = figure(2, words="Coats", least=1, most=99, always_kept=True)
    between_coats_min: float = figure(
        20.0, words="Between coats", unit="min", least=0, most=100_000, always_kept=True,
    )
    recoat_within_min: float = figure(
        0.0, words="Recoat within", unit="min", least=0, most=1_000_000, about="0: the can names no limit",
        always_kept=True,
    )
    mask_after_min: float = figure(60.0, words="Mask after", unit="min", least=0, most=100_000, always_kept=True)
    cure_h: float = figure(12.0, words="Cure", unit="h", least=0, most=10_000, always_kept=True)
    hides_in_coats: int = figure(2, words="Hides in coats", least=1, most=99, always_kept=True)
    backing: str = ""
    backing_coats: int = figure(0, words="Coats of backing", least=0, most=99, always_kept=True)
    spreading_rate_m2_l: float = figure(
        15.0, words="Spreading rate", unit="m²/l", least=0, most=1_000, about="One coat without losses",
        always_kept=True,
    )
    loss_share: float = figure(
        0.4, words="Share lost in spraying", least=0, most=0.99, about="Overspray and what stays in the can",
        always_kept=True,
    )
    can_ml: float = figure(400.0, words="Can", unit="ml", least=0, most=1_000_000, always_kept=True)
    price: float = figure(0.0, words="Price", least=0, most=1_000_000, always_kept=True)
    maker: str = figure("", words="Maker", most=200, about="Who made it, as the can says")
    binder: Binder = figure("unknown", words="Binder", about="As its safety data sheet says")
    sheet_read: bool = figure(False, words="Safety data sheet read")
    burn_dose_j_mm2: float = figure(
        0.1, words="Dose that takes it off", unit="J/mm²", least=0.0001, most=1_000, places=3, step=0.01,
        about="All coats of it, cured; invented, a painted scrap settles it",
    )
    # fmt: on
    conditions: str = AS_THE_CAN_SAYS
    note: str = ""
    trials: tuple[PaintTrial, ...] = ()
    origin: Origin = _COMMON


@dataclass(frozen=True, slots=True, kw_only=True)
class MaskOptions:
    """How masks are cut and laid, mm. Starting points from common practice, no source; a trial cut settles them.

    bleed_mm: how far an opening reaches beyond its own area, over coat that still stands. clearance_mm: how far it
    stays off areas that still wait. least_bridge_mm: narrowest film that can be cut, weeded and laid.
    least_opening_mm: narrowest slot worth cutting where none is needed. film_stays_on: the sheet's film is burned
    through with the coat and is the first mask. marks_mm: how far the datum's marks lie outside the piece.
    """

    bleed_mm: float = figure(0.5, words="Bleed", unit="mm", least=0, most=100, always_kept=True)
    clearance_mm: float = figure(0.5, words="Clearance", unit="mm", least=0, most=100, always_kept=True)
    least_bridge_mm: float = figure(2.0, words="Narrowest bridge", unit="mm", least=0, most=100, always_kept=True)
    least_opening_mm: float = figure(1.0, words="Narrowest opening", unit="mm", least=0, most=100, always_kept=True)
    film_stays_on: bool = False
    marks_mm: float = figure(6.0, words="Marks outside the piece", unit="mm", least=0, most=1_000, always_kept=True)
    film: FilmKind = figure("paint mask", words="Film", about="What masks are cut from")
    cut_by: CutBy = figure("plotter", words="Film is cut by", about="A plotter's knife, or the laser")
    cut_width_mm: float = figure(
        0.0,
        words="Width of the film's cut",
        unit="mm",
        least=0,
        most=2,
        places=3,
        step=0.01,
        about="Of the blade or the beam: openings are drawn in by half of it",
    )
    overcut_mm: float = figure(
        0.0,
        words="Overcut",
        unit="mm",
        least=0,
        most=10,
        step=0.1,
        about="How far each cut runs on beyond its start, so that it parts there",
    )
    border_mm: float = figure(8.0, words="Border", unit="mm", least=0, most=100, step=1, about="Film to hold it by")


@dataclass(frozen=True, slots=True, kw_only=True)
class Workday:
    """When hands are at work and how long they take; waiting goes on through the night. Invented starting points.

    start: ISO date and time without a zone, empty: the plan counts from the first day's opening. opens_h, closes_h:
    hours of the day. mask_min: laying one mask; coat_min: one coat on one piece; peel_min: taking a mask off;
    abrade_min: abrading a coat that waited too long. watch_burns: hands stay at the machine while it burns.
    """

    start: str = ""
    opens_h: float = figure(8.0, words="Hands are there from", unit="h", least=0, most=24, always_kept=True)
    closes_h: float = figure(20.0, words="Hands are there until", unit="h", least=0, most=24, always_kept=True)
    mask_min: float = figure(10.0, words="Laying a mask", unit="min", least=0, most=10_000, always_kept=True)
    coat_min: float = figure(3.0, words="Putting a coat on", unit="min", least=0, most=10_000, always_kept=True)
    peel_min: float = figure(2.0, words="Taking a mask off", unit="min", least=0, most=10_000, always_kept=True)
    abrade_min: float = figure(5.0, words="Abrading a coat", unit="min", least=0, most=10_000)
    watch_burns: bool = figure(True, words="Hands stay at the machine while it burns")


@dataclass(frozen=True, slots=True, kw_only=True)
class Finishing:
    """What is decided about a job after the laser.

    paints: embedded, so that the job file stands alone. paint_of_colour: colour in the artwork to paint name or
    ``BARE``; paint_of: shape id to the same, which wins. order: paint names as the maker wants them; empty: the order
    that costs least masking. pieces: how many are finished together. ways: paint name (or ``BARE``) to how it is kept
    off what waits; masks where nothing is said. joint, adhesive: what is bonded and how, or "". ticks: what is done.
    """

    paints: tuple[Paint, ...] = ()
    paint_of_colour: tuple[tuple[str, str], ...] = ()
    paint_of: tuple[tuple[str, str], ...] = ()
    order: tuple[str, ...] = ()
    masks: MaskOptions = field(default_factory=MaskOptions)
    workday: Workday = field(default_factory=Workday)
    pieces: int = figure(1, words="Pieces", least=1, most=100_000, always_kept=True)
    joint: str = ""
    adhesive: str = ""
    ways: tuple[tuple[str, Way], ...] = field(default=(), metadata={"omit_default": True})
    ticks: tuple[StepTick, ...] = field(default=(), metadata={"omit_default": True})

    def burned_later(self, name: str) -> bool:
        """Whether areas of that paint (or ``BARE``) are cleared in a burn of their own, after what comes before."""
        return (name, "burn") in self.ways


LIGHT = 0.45
"""Relative luminance above which a paint without other knowledge is taken to hide weakly. Invented."""


def starting_paint(name: str, colour: str, kind: PaintKind = "spray") -> Paint:
    """A paint of that kind with starting figures; light ones are taken to need one coat more to hide."""
    hides = 3 if relative_luminance(colour) > LIGHT else 2
    if kind == "spray":
        return Paint(name=name, colour=colour, hides_in_coats=hides)
    if kind == "film":
        return Paint(
            name=name,
            colour=colour,
            kind=kind,
            coats=1,
            between_coats_min=0.0,
            mask_after_min=0.0,
            cure_h=0.0,
            hides_in_coats=1,
            spreading_rate_m2_l=0.0,
            loss_share=0.3,
            can_ml=0.0,
            origin=_INVENTED,
        )
    brush = kind == "brush"
    return Paint(
        name=name,
        colour=colour,
        kind=kind,
        between_coats_min=60.0 if brush else 10.0,
        mask_after_min=240.0 if brush else 60.0,
        hides_in_coats=hides,
        spreading_rate_m2_l=12.0,
        loss_share=0.1,
        can_ml=50.0 if brush else 5.0,
        origin=_INVENTED,
    )


def relative_luminance(colour: str) -> float:
    """0 (black) to 1 (white) of "#rrggbb" (W3C, Web Content Accessibility Guidelines 2.2, relative luminance)."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def is_weak(paint: Paint) -> bool:
    """Whether so few coats of it are put on that what lies behind can show."""
    return paint.kind != "film" and paint.coats < paint.hides_in_coats and not paint.backing_coats


SHOWING_CONTRAST = 1.5
"""Least luminance contrast at which a darker paint behind a weak one is taken to show. Invented; a trial settles it."""


def shows_through(front: Paint, behind: Paint) -> bool:
    """Whether ``behind``, painted over cured ``front``, would show through it: weak, and clearly the lighter one."""
    contrast = (relative_luminance(front.colour) + 0.05) / (relative_luminance(behind.colour) + 0.05)
    return is_weak(front) and contrast >= SHOWING_CONTRAST


def colour_name(colour: str) -> str:
    """A plain word for "#rrggbb": "dark blue", "teal", "white"."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    hue, lightness, saturation = colorsys.rgb_to_hls(red, green, blue)
    chroma = max(red, green, blue) - min(red, green, blue)
    if lightness > 0.93 and chroma < 0.1:
        return "white"
    if lightness < 0.12:
        return "black"
    if chroma < 0.08 or saturation < 0.1:
        return "light grey" if lightness > 0.65 else "dark grey" if lightness < 0.35 else "grey"
    turns = [(15, "red"), (42, "orange"), (70, "yellow"), (160, "green"), (195, "teal"), (255, "blue")]
    turns += [(290, "violet"), (335, "pink"), (361, "red")]
    word = next(word for end, word in turns if hue * 360 < end)
    if word in ("red", "orange") and lightness < 0.35 and saturation < 0.75:
        return "brown"
    return f"light {word}" if lightness > 0.72 else f"dark {word}" if lightness < 0.3 else word


def free_name(wanted: str, taken: Iterable[str]) -> str:
    """``wanted``, or with a number behind it where it is taken already or means something else."""
    used = {name.casefold() for name in taken} | {BARE}
    name, number = wanted, 2
    while name.casefold() in used:
        name, number = f"{wanted} {number}", number + 1
    return name


STARTING_PAINTS: tuple[Paint, ...] = (
    starting_paint("black spray", "#1c1c1c"),
    starting_paint("white spray", "#f6f5f0"),
    starting_paint("white brush paint", "#f6f5f0", "brush"),
    starting_paint("black marker", "#1c1c1c", "marker"),
)
"""What a new shop book starts with; none is a product of anybody."""
