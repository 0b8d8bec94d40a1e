"""Stocks: what kind of sheet it is, what its coat stands, how it is cut."""

from dataclasses import dataclass, field, replace

from core.figures import figure
from core.sheet.batches import NO_BATCH, Batch, BatchFigures
from core.sheet.recipes import STARTING_POINT, Origin, Recipe
from core.sheet.stacks import StackFigures
from core.units import pitch_mm_from_lpi


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """A kind of sheet at one thickness. Doses are J/mm² at the coat.

    cut may be None: the sheet must not be cut by the laser (glass). ``refused`` gives the reason why it must not
    be burned at all, or is empty. ``caution_codes`` name what the hand-over adds to its list for this stock.
    kerf_mm: width the cut removes. coat_adding_s and sheet_adding_s: how little hits add up in the coat and in the
    sheet behind it, 1 not at all, 0 all (see ``core.burning.chance``). learned_together: correlations of figures that
    were learned from the same scraps, on the scales of ``core.burning.unknowns``, on the machine ``learned_on``.
    stacks: what was learned of the coat with paint on it.
    batch: which delivery the figures are of; batches: what was learned of each.
    left_over_limit_pct: share of a fill's coat that may stay without being called spoilt. edge_margin_mm: common
    practice, no source.
    """

    # fmt: off
    name: str
    kind: str
    thickness_mm: float = figure(words="Thickness", unit="mm", least=0.01, most=1_000, step=0.1, group="Sheet")
    coat: str
    clearing_dose_j_mm2: float = figure(
        words="Clearing dose", unit="J/mm²", least=0.0001, most=10_000, places=4, step=0.01, group="Coat",
        about="From here on the coat comes off",
    )
    frosting_dose_j_mm2: float = figure(
        words="Frosting dose", unit="J/mm²", least=0.0001, most=10_000, places=4, step=0.01, group="Coat",
        about="From here on the sheet behind the coat suffers",
    )
    fill: Recipe = field(metadata={"called": "fill recipe"})
    score: Recipe = field(metadata={"called": "score recipe"})
    cut: Recipe | None = field(metadata={"called": "cut recipe"})
    kerf_mm: float = figure(
        0.15, words="Kerf", unit="mm", least=0, most=10, places=3, step=0.01, group="Sheet",
        about="Width that a cut removes", always_kept=True,
    )
    caution_codes: tuple[str, ...] = ()
    refused: str = ""
    origin: Origin = STARTING_POINT
    figure_origins: tuple[tuple[str, Origin], ...] = ()
    coat_adding_s: float = figure(
        0.76, words="S of the coat", unit="", least=0.52, most=1, step=0.02, group="Coat",
        about="How little hits add up in the coat: 1 not at all, the largest counts",
    )
    sheet_adding_s: float = figure(
        0.5, words="S of the sheet", unit="", least=0, most=1, step=0.02, group="Coat",
        about="How little hits add up in the sheet behind the coat: 0 all of it, 1 not at all",
    )
    left_over_limit_pct: float = figure(
        1.0, words="Left-over limit", unit="%", least=0, most=100, step=0.1, group="Coat",
        about="Share of a fill's coat that may stay",
    )
    edge_margin_mm: float = figure(
        2.0, words="Margin at the edge", unit="mm", least=0, most=100, step=0.5, group="Sheet",
        about="Cuts stay this far off the edge of a sheet; the machine's margin counts where it is larger",
    )
    learned_together: tuple[tuple[str, str, float], ...] = field(default=(), metadata={"omit_default": True})
    learned_on: str = field(default="", metadata={"omit_default": True})
    batch: Batch = field(default=NO_BATCH, metadata={"omit_default": True})
    batches: tuple[BatchFigures, ...] = field(default=(), metadata={"omit_default": True})
    stacks: tuple[StackFigures, ...] = field(default=(), metadata={"omit_default": True})
    # fmt: on


_INVENTED = Origin(note="Invented to lie near common practice on mirrored acrylic, no source; prove it on a scrap.")
_FILL = Recipe(speed_mm_s=800.0, power_pct=20.0, pitch_mm=pitch_mm_from_lpi(600))
_SCORE = Recipe(speed_mm_s=200.0, power_pct=15.0)
_CUT_2 = Recipe(speed_mm_s=20.0, power_pct=70.0, air="high", origin=_INVENTED)
_CUT_3 = Recipe(speed_mm_s=12.0, power_pct=75.0, air="high")
_CUT_5 = Recipe(speed_mm_s=6.0, power_pct=85.0, air="high", origin=_INVENTED)

MIRRORED_ACRYLIC_3 = Stock(
    name="mirrored acrylic 3 mm",
    kind="mirrored acrylic",
    thickness_mm=3.0,
    coat="metal with a paint backing",
    clearing_dose_j_mm2=0.19,
    frosting_dose_j_mm2=0.80,
    fill=_FILL,
    score=_SCORE,
    cut=_CUT_3,
    caution_codes=("reflection", "solvent-on-coat"),
)
"""Its fill and cut recipes are common practice; the doses are invented so that the model agrees with them."""

MIRRORED_ACRYLIC_2 = replace(
    MIRRORED_ACRYLIC_3, name="mirrored acrylic 2 mm", thickness_mm=2.0, cut=_CUT_2, origin=_INVENTED
)
MIRRORED_ACRYLIC_5 = replace(
    MIRRORED_ACRYLIC_3, name="mirrored acrylic 5 mm", thickness_mm=5.0, cut=_CUT_5, kerf_mm=0.2, origin=_INVENTED
)

BACK_PAINTED_ACRYLIC_3 = Stock(
    name="back-painted acrylic 3 mm",
    kind="back-painted acrylic",
    thickness_mm=3.0,
    coat="paint",
    clearing_dose_j_mm2=0.25,
    frosting_dose_j_mm2=0.90,
    fill=replace(_FILL, power_pct=25.0, origin=_INVENTED),
    score=_SCORE,
    cut=_CUT_3,
    caution_codes=("unknown-paint", "solvent-on-coat"),
    origin=_INVENTED,
)

MIRRORED_GLASS_4 = Stock(
    name="mirrored glass 4 mm",
    kind="mirrored glass",
    thickness_mm=4.0,
    coat="silver with a paint backing",
    clearing_dose_j_mm2=0.30,
    frosting_dose_j_mm2=1.00,
    fill=replace(_FILL, power_pct=30.0, origin=_INVENTED),
    score=replace(_SCORE, power_pct=12.0, origin=_INVENTED),
    cut=None,
    caution_codes=("glass-chips", "glass-not-cut", "reflection", "solvent-on-coat"),
    origin=_INVENTED,
)

BACK_PAINTED_GLASS_4 = Stock(
    name="back-painted glass 4 mm",
    kind="back-painted glass",
    thickness_mm=4.0,
    coat="paint",
    clearing_dose_j_mm2=0.28,
    frosting_dose_j_mm2=1.00,
    fill=replace(_FILL, power_pct=28.0, origin=_INVENTED),
    score=replace(_SCORE, power_pct=12.0, origin=_INVENTED),
    cut=None,
    caution_codes=("glass-chips", "glass-not-cut", "unknown-paint"),
    origin=_INVENTED,
)

TWO_PLY_LAMINATE_1_6 = Stock(
    name="two-ply laminate 1.6 mm",
    kind="two-ply laminate",
    thickness_mm=1.6,
    coat="coloured ply on a clear base",
    clearing_dose_j_mm2=0.22,
    frosting_dose_j_mm2=0.75,
    fill=replace(_FILL, power_pct=22.0, origin=_INVENTED),
    score=_SCORE,
    cut=Recipe(speed_mm_s=25.0, power_pct=60.0, air="high", origin=_INVENTED),
    caution_codes=("unknown-plastic",),
    origin=_INVENTED,
)

CLEAR_ACRYLIC_3 = Stock(
    name="clear acrylic 3 mm",
    kind="clear acrylic",
    thickness_mm=3.0,
    coat="",
    clearing_dose_j_mm2=0.80,
    frosting_dose_j_mm2=3.00,
    fill=Recipe(speed_mm_s=400.0, power_pct=40.0, pitch_mm=pitch_mm_from_lpi(600), origin=_INVENTED),
    score=_SCORE,
    cut=_CUT_3,
    origin=Origin(
        note="No coat: the dose that frosts the surface evenly stands as clearing dose, the dose that digs into it as "
        "frosting dose. Invented, no source; prove it on a scrap."
    ),
)

UNKNOWN_PLASTIC_3 = Stock(
    name="unknown plastic 3 mm",
    kind="unknown plastic",
    thickness_mm=3.0,
    coat="unknown",
    clearing_dose_j_mm2=0.19,
    frosting_dose_j_mm2=0.80,
    fill=_FILL,
    score=_SCORE,
    cut=_CUT_3,
    caution_codes=("unknown-plastic", "solvent-on-coat"),
    origin=Origin(note="Nothing is known of this sheet: find out what it is before it is burned."),
)

PVC_3 = Stock(
    name="PVC sheet 3 mm",
    kind="PVC",
    thickness_mm=3.0,
    coat="any",
    clearing_dose_j_mm2=0.19,
    frosting_dose_j_mm2=0.80,
    fill=_FILL,
    score=_SCORE,
    cut=None,
    caution_codes=("chlorine",),
    refused="Chlorinated plastic (PVC, vinyl) gives off hydrogen chloride when burned: it harms lungs and eats the "
    "machine. Use another sheet.",
    origin=Origin(note="Stands here to be refused; its figures mean nothing."),
)

STARTING_STOCKS: tuple[Stock, ...] = (
    MIRRORED_ACRYLIC_2,
    MIRRORED_ACRYLIC_3,
    MIRRORED_ACRYLIC_5,
    BACK_PAINTED_ACRYLIC_3,
    MIRRORED_GLASS_4,
    BACK_PAINTED_GLASS_4,
    TWO_PLY_LAMINATE_1_6,
    CLEAR_ACRYLIC_3,
    UNKNOWN_PLASTIC_3,
    PVC_3,
)
"""What a new shop book starts with; every figure is a starting point to prove on a scrap."""
