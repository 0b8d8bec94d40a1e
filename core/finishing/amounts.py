"""How much paint a job takes.

Spreading rate as coatings makers state it: 10 x volume solids in percent / dry film thickness in µm gives m² a litre,
without losses (the relation behind ISO 23811 and ISO 3233, volume of non-volatile matter; not valid where there is
more pigment than the binder can fill). Losses come off: practical rate = rate x (1 - loss).
"""

import math
from dataclasses import dataclass

from core.errors import UnreadableError
from core.finishing.paints import Paint


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """What one paint of a job takes: ml for paints, mm² for film; cans is a share, to_buy whole ones.

    coats counts those of the paint itself, or of the backing it lends to others.
    """

    paint: str
    kind: str
    area_mm2: float
    coats: int
    volume_ml: float
    cans: float
    to_buy: int
    price: float


def spreading_rate_m2_l(volume_solids_pct: float, dry_film_um: float) -> float:
    """Theoretical spreading rate of one coat. Raises UnreadableError when either is not above zero."""
    if not (0 < volume_solids_pct <= 100 and 0 < dry_film_um < math.inf):
        raise UnreadableError(
            "Volume solids and dry film must be above zero.", hint="The data sheet gives them: like 45 % and 30 µm."
        )
    return 10 * volume_solids_pct / dry_film_um


def wet_film_um(volume_solids_pct: float, dry_film_um: float, *, thinner_pct: float = 0.0) -> float:
    """Thickness to put on wet for a dry film, thinner added by volume. Raises UnreadableError as above."""
    spreading_rate_m2_l(volume_solids_pct, dry_film_um)
    return dry_film_um * (1 + thinner_pct / 100) * 100 / volume_solids_pct


def volume_ml(area_mm2: float, *, coats: int, rate_m2_l: float, loss_share: float) -> float:
    """Paint that so many coats on an area take, losses included, ml. Raises UnreadableError for senseless figures."""
    if not (rate_m2_l > 0 and 0 <= loss_share < 1):
        raise UnreadableError(
            "A paint needs a spreading rate above zero and a loss below 100 %.", hint="Take both from its data sheet."
        )
    return area_mm2 / 1e6 / rate_m2_l * coats / (1 - loss_share) * 1000


def amount_of(paint: Paint, area_mm2: float, *, coats: int | None = None, pieces: int = 1) -> Amount:
    """What so many pieces take of a paint that lands on ``area_mm2`` of each. Raises UnreadableError as above."""
    coats = paint.coats if coats is None else coats
    whole_mm2 = area_mm2 * pieces
    if paint.kind == "film":
        whole_mm2 /= 1 - min(paint.loss_share, 0.99)
        volume, cans, price = 0.0, 0.0, paint.price * whole_mm2 / 1e6
    else:
        volume = volume_ml(whole_mm2, coats=coats, rate_m2_l=paint.spreading_rate_m2_l, loss_share=paint.loss_share)
        cans = volume / paint.can_ml if paint.can_ml > 0 else 0.0
        price = paint.price * cans
    return Amount(
        paint=paint.name,
        kind=paint.kind,
        area_mm2=whole_mm2,
        coats=coats,
        volume_ml=volume,
        cans=cans,
        to_buy=math.ceil(cans - 1e-9),
        price=price,
    )
