"""When a machine or a stock makes sense as a whole."""

from core.burning.machines import Machine
from core.errors import UnreadableError
from core.figures import check_figures
from core.sheet.stock import Stock


def check_profile(profile: Machine | Stock) -> None:
    """Raise UnreadableError on the first thing of a machine or stock that makes no sense."""
    name = profile.name.strip()
    if not name:
        raise UnreadableError("A machine or stock needs a name.", hint="Give one that nothing else in the book has.")
    check_figures(profile)
    if isinstance(profile, Stock) and profile.frosting_dose_j_mm2 <= profile.clearing_dose_j_mm2:
        raise UnreadableError(
            f"The frosting dose of {name} ({profile.frosting_dose_j_mm2:g} J/mm²) is not above its clearing dose "
            f"({profile.clearing_dose_j_mm2:g} J/mm²).",
            hint="Nothing could be cleared without frosting; look at both again.",
        )
