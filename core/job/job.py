"""The Job: everything the maker has decided, as one immutable value. All else is derived by ``prepare``."""

from dataclasses import dataclass, field, replace

from core.artwork.arrived import ArtworkSource, ReadOptions, SortOptions
from core.artwork.sorting.rules import PurposeRule
from core.burning.machines import CO2_FLATBED, Machine
from core.errors import UnreadableError
from core.figures import COLOUR, figure
from core.finishing.paints import Finishing
from core.purposes import LEAVE_OUT, UNDECIDED, Purpose
from core.sheet.datum import PART_EDGE, Datum
from core.sheet.faces import Corner
from core.sheet.placement import Placement, Repeat, Sheet, Turn
from core.sheet.recipes import Recipe
from core.sheet.stock import MIRRORED_ACRYLIC_3, Stock


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """Shapes burned alike. ``id`` never changes; name and colour are the maker's free choice.

    colour is "#rrggbb", written to the exported file since receiving software often sorts by it. keep_size: closed cut
    lines are moved by half the stock's kerf, parts outwards and holes inwards; else they are cut as drawn.
    """

    id: str
    name: str
    purpose: Purpose
    recipe: Recipe = field(metadata={"called": ""})
    colour: str = figure(words="Colour", pattern=COLOUR, about="Write it like #0072b2.")
    keep_size: bool = field(default=False, metadata={"omit_default": True})


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One piece of work. Overrides map shape ids to layer ids, or to ``LEAVE_OUT``; repairs are codes accepted.

    piece_id: uuid of the rack's piece that the sheet is, empty for none. repeats: further copies of the artwork.
    rules: what whole groups of shapes are for, the first that matches; overrides come before them.
    wanted_chance: share of draws that is to come out clean, which advice keeps to.
    datum: what every file of the job is laid by.
    stop_corner: the corner of the bed where the machine's stop is; the turn says which corner of the front meets it.
    """

    source: ArtworkSource | None = None
    reading: ReadOptions = field(default_factory=ReadOptions)
    sorting: SortOptions = field(default_factory=SortOptions)
    overrides: tuple[tuple[str, str], ...] = ()
    repairs: tuple[str, ...] = ()
    layers: tuple[Layer, ...]
    sheet: Sheet
    stock: Stock
    machine: Machine
    turn: Turn = "sideways"
    stop_corner: Corner = "top left"
    placement: Placement = field(default_factory=Placement)
    cautions_ticked: frozenset[str] = frozenset()
    finishing: Finishing = field(default_factory=Finishing)
    piece_id: str = field(default="", metadata={"omit_default": True})
    repeats: tuple[Repeat, ...] = field(default=(), metadata={"omit_default": True})
    rules: tuple[PurposeRule, ...] = field(default=(), metadata={"omit_default": True})
    wanted_chance: float = field(default=0.9, metadata={"omit_default": True})
    datum: Datum = field(default=PART_EDGE, metadata={"omit_default": True})

    def check_whole(self) -> None:
        """Raises UnreadableError where the layers do not go together."""
        ids = {layer.id for layer in self.layers}
        if len(ids) < len(self.layers):
            raise UnreadableError("Two layers of this job have the same id.", hint="Take the last saved copy.")
        if ids & {LEAVE_OUT, UNDECIDED}:
            raise UnreadableError("A layer's id is a word that means no layer.", hint="Take the last saved copy.")


LAYER_COLOURS: dict[Purpose, str] = {"fill": "#0072b2", "score": "#009e73", "cut": "#d55e00", "guide": "#767676"}
"""Where a layer's colour starts (M. Okabe, K. Ito, Color Universal Design, and a grey); no meaning is tied to them."""


def standard_layers(stock: Stock) -> tuple[Layer, ...]:
    """One layer a purpose, with the stock's starting recipes, in burn order."""
    cut = stock.cut or replace(stock.score, speed_mm_s=12.0)
    recipes: dict[Purpose, Recipe] = {"fill": stock.fill, "score": stock.score, "cut": cut, "guide": stock.score}
    return tuple(
        Layer(id=purpose, name=purpose.capitalize(), purpose=purpose, recipe=recipe, colour=LAYER_COLOURS[purpose])
        for purpose, recipe in recipes.items()
    )


def new_job(
    source: ArtworkSource | None = None, *, stock: Stock = MIRRORED_ACRYLIC_3, machine: Machine = CO2_FLATBED
) -> Job:
    """A job with the starting profiles on a 300 x 200 mm sheet."""
    return Job(
        source=source,
        layers=standard_layers(stock),
        sheet=Sheet(width_mm=300.0, height_mm=200.0, thickness_mm=stock.thickness_mm),
        stock=stock,
        machine=machine,
    )


def with_overrides(job: Job, shape_ids: list[str], layer_id: str | None) -> Job:
    """The job with these shapes put on a layer (or ``LEAVE_OUT``); None takes earlier overrides back."""
    kept = {shape: layer for shape, layer in job.overrides if shape not in set(shape_ids)}
    if layer_id is not None:
        kept |= dict.fromkeys(shape_ids, layer_id)
    return replace(job, overrides=tuple(sorted(kept.items())))


def with_layer(job: Job, layer: Layer) -> Job:
    """The job with the layer of that id replaced."""
    return replace(job, layers=tuple(layer if old.id == layer.id else old for old in job.layers))
