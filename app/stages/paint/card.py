"""What all cards of the Paint page are."""

from app.session.painting import Painted
from app.widgets.fields import Card


class PaintedCard(Card):
    """Shows a part of what painting comes to."""

    def show_painted(self, painted: Painted) -> None:
        """Bring it up to date."""
        raise NotImplementedError
