"""What the shop reckons with, in its own currency: hours, sheet, film, what is put on top, breaks, tax, rounding."""

import math
import re
from dataclasses import dataclass

from core.errors import UnreadableError
from core.figures import check_figures, figure

_MOST = 1_000_000
MOST_BREAKS = 20
_BREAK = re.compile(r"(\d{1,9})\s*[:=]\s*([-\d.,]{1,12})\s*%?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """What the shop reckons with.

    setup_min: at the machine, once for each order; load_min: for each sheet that is put on. sheet_per_m2: for jobs
    that lie on no piece of the rack. attendance_pct: share of the run time that hands stay beside the machine.
    clean_min, pack_min: for each part. margin_pct: put on top. breaks: (from how many, per cent off). least_charge:
    no order costs less, before tax. round_to: what the price of one is rounded to; tax_round_to: tax.
    """

    # fmt: off
    currency: str = figure("", words="Currency", most=8, pattern=r"\D*", about="A word or sign", always_kept=True)
    machine_per_h: float = figure(
        0.0, words="Machine", unit="/h", least=0, most=_MOST, step=1, about="What an hour of the machine costs",
        always_kept=True,
    )
    setup_min: float = figure(
        0.0, words="Setting up", unit="min", least=0, most=_MOST, step=1, about="At the machine, once for each order",
        always_kept=True,
    )
    load_min: float = figure(
        0.0, words="Putting a sheet on", unit="min", least=0, most=_MOST, step=1, about="At the machine, each sheet",
    )
    handwork_per_h: float = figure(
        0.0, words="Handwork", unit="/h", least=0, most=_MOST, step=1, about="What an hour of hands costs",
        always_kept=True,
    )
    attendance_pct: float = figure(
        0.0, words="Hands at the machine", unit="%", least=0, most=100, step=10,
        about="Share of the run time that somebody is paid to stay beside it",
    )
    clean_min: float = figure(
        0.0, words="Cleaning", unit="min", least=0, most=_MOST, step=0.5, about="Hands, for each part",
    )
    pack_min: float = figure(
        0.0, words="Packing", unit="min", least=0, most=_MOST, step=0.5, about="Hands, for each part",
    )
    sheet_per_m2: float = figure(
        0.0, words="Sheet", unit="/m²", least=0, most=_MOST, step=1,
        about="For jobs that lie on no piece of the rack", always_kept=True,
    )
    mask_film_per_m2: float = figure(
        0.0, words="Mask film", unit="/m²", least=0, most=_MOST, step=1, about="What the film for masks costs",
        always_kept=True,
    )
    margin_pct: float = figure(
        0.0, words="On top", unit="%", least=0, most=_MOST, step=5, about="Put on top of the cost", always_kept=True,
    )
    least_charge: float = figure(
        0.0, words="Least charge", least=0, most=_MOST, step=5, about="No order costs less, before tax",
    )
    tax_pct: float = figure(0.0, words="Tax", unit="%", least=0, most=100, step=1, about="Of the price; 0 for none")
    round_to: float = figure(
        0.01, words="Prices rounded to", least=0.001, most=1_000, places=3, step=0.05,
        about="The price of one: 0.01, 0.05, 1",
    )
    tax_round_to: float = figure(
        0.01, words="Tax rounded to", least=0.001, most=1_000, places=3, step=0.01,
        about="1 where the currency has no cents",
    )
    # fmt: on
    breaks: tuple[tuple[int, float], ...] = figure(
        (),
        words="Price breaks",
        least=0,
        most=_MOST,
        about="From how many, per cent off: 10: 5, 50: 12.5",
    )

    def check_whole(self) -> None:
        """Raises UnreadableError for price breaks that make no sense."""
        numbers = [number for number, _ in self.breaks]
        if len(self.breaks) > MOST_BREAKS:
            raise UnreadableError("So many price breaks make no sense.", hint=f"At most {MOST_BREAKS}.")
        if any(number < 2 or number != int(number) for number in numbers) or len(set(numbers)) < len(numbers):
            raise UnreadableError(
                "A price break begins at 2 or more, and each at its own number.", hint="Write them like 10: 5, 50: 12."
            )
        if any(not 0 <= off_pct < 100 for _, off_pct in self.breaks):
            raise UnreadableError("A price break takes 0 to less than 100 % off.")

    def off_pct(self, quantity: int) -> float:
        """Per cent off at that quantity: of the largest break that it reaches."""
        reached = [one for one in self.breaks if one[0] <= quantity]
        return max(reached)[1] if reached else 0.0


def check_rates(rates: Rates) -> Rates:
    """The same rates. Raises UnreadableError where one of them makes no sense."""
    check_figures(rates, of="the shop's rates")
    return rates


def breaks_words(rates: Rates) -> str:
    """The price breaks as they are typed: ``"10: 5 %, 50: 12.5 %"``; empty for none."""
    return ", ".join(f"{number}: {off_pct:g} %" for number, off_pct in rates.breaks)


def parsed_breaks(text: str) -> tuple[tuple[int, float], ...]:
    """Price breaks out of what was typed, smallest number first; none for an empty text. Raises UnreadableError."""
    found: list[tuple[int, float]] = []
    # a comma parts two breaks, unless it stands within a number
    for part in filter(None, (part.strip() for part in re.split(r";|,(?=\s*\d+\s*[:=])|\n", text))):
        match = _BREAK.fullmatch(part)
        try:
            off_pct = float(match[2].replace(",", ".")) if match else math.nan
        except ValueError:
            off_pct = math.nan
        if match is None or not math.isfinite(off_pct):
            raise UnreadableError(f"“{part[:40]}” is no price break.", hint="Write them like 10: 5, 50: 12.5.")
        found.append((int(match[1]), off_pct))
    breaks = tuple(sorted(found))
    Rates(breaks=breaks).check_whole()
    return breaks
