"""What a paint is bound with, and whether it may be burned through. From memory; the safety data sheet decides.

Chlorinated binders give off hydrogen chloride, cellulose nitrate burns fiercely; what is not known is not burned.
"""

from typing import Literal

Binder = Literal["unknown", "acrylic", "alkyd", "polyurethane", "epoxy", "cellulose nitrate", "chlorinated"]

REFUSED: dict[Binder, str] = {
    "unknown": "what binds it is not known: its maker's safety data sheet says so",
    "chlorinated": "chlorinated binders give off hydrogen chloride, which harms lungs and eats the machine",
    "cellulose nitrate": "cellulose nitrate burns fiercely",
}


def burn_refusal(*, maker: str, binder: Binder, sheet_read: bool) -> str:
    """Why paint must not be burned through, empty where it may be, once fully cured."""
    if binder in REFUSED:
        return REFUSED[binder]
    if not maker.strip():
        return "its maker is not named"
    if not sheet_read:
        return "its safety data sheet is not marked as read"
    return ""
