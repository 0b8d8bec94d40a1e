"""The two ways to paint, mixed colour by colour.

A colour that is *burned later* is cleared in a burn of its own, once what comes before it in the order is painted and
cured; until then its coat keeps paint off it, so nothing needs a mask for its sake. A colour that is *masked* is
cleared in the burn of the colour before it. So the order falls into runs, a burn each, with masks inside a run only.
"""

from collections.abc import Sequence

from core.finishing.order import Order
from core.finishing.paints import Finishing


def burn_of_places(order: Order, names: Sequence[str], finishing: Finishing) -> tuple[int, ...]:
    """The burn, from 1, that clears the colour at each place of the order."""
    burns: list[int] = []
    for place, colour in enumerate(order):
        later = place > 0 and finishing.burned_later(names[colour])
        burns.append(burns[-1] + later if burns else 1)
    return tuple(burns)


def burn_reasons(names: Sequence[str], burns: Sequence[int]) -> tuple[str, ...]:
    """One sentence for each burn: what it clears, and what needs no mask for it."""
    reasons = []
    for burn in range(1, max(burns, default=0) + 1):
        own = [name for name, at in zip(names, burns, strict=True) if at == burn]
        if burn == 1:
            reasons.append(f"Burn 1 clears {', '.join(own)}; what waits for a later burn stays under its coat.")
        else:
            under = [name for name, at in zip(names, burns, strict=True) if at < burn]
            reasons.append(f"Burn {burn} clears {', '.join(own)} through the coat and {', '.join(under)}.")
    return tuple(reasons)
