"""The shop's own name and address, as they stand on proofs and offers: empty until somebody writes them."""

from dataclasses import dataclass

from core.figures import check_figures, figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Letterhead:
    """address and contact: lines parted by semicolons. valid_days: how long an offer holds."""

    name: str = figure("", words="Name", most=80, about="The shop's own name", always_kept=True)
    address: str = figure("", words="Address", most=200, about="Lines parted by semicolons", always_kept=True)
    contact: str = figure("", words="Contact", most=200, about="Telephone, mail: lines parted by semicolons")
    valid_days: int = figure(30, words="Offers hold for", unit="days", least=1, most=3650, always_kept=True)
    terms: str = figure("", words="Terms", most=400, about="What is said below an offer")

    @property
    def lines(self) -> tuple[str, ...]:
        """All lines, the name first; none where nothing is written."""
        words = [self.name, *self.address.split(";"), *self.contact.split(";")]
        return tuple(word.strip() for word in words if word.strip())


def check_letterhead(letterhead: Letterhead) -> Letterhead:
    """The same letterhead. Raises UnreadableError where a figure makes no sense."""
    check_figures(letterhead, of="the letterhead")
    return letterhead
