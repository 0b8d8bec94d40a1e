"""Paint: a quiet notice; planning the back-filling is not in this version."""

from app.fields import Card, words
from app.session import Session
from app.settings import Settings
from app.stages.page import Page
from app.stages.stage import Stage


class PaintPage(Page):
    """Says what this stage is for and what can be done meanwhile."""

    def __init__(self, session: Session, settings: Settings) -> None:
        super().__init__(Stage.PAINT, "Back-filling the bared areas, colour by colour.", session, settings)
        card = Card("Not planned here yet")
        card.body.addWidget(
            words(
                "Order of colours, masks and drying times are planned by hand for now. "
                "Nothing on this page changes what is handed over."
            )
        )
        card.body.addWidget(
            words(
                "What helps meanwhile: paint that lands on coat that is still there can't be seen from the front, "
                "so a mask only has to keep a colour off bared areas that are not painted yet."
            )
        )
        self.body.addWidget(card)
        self.end_body()
        self.show_main_action("Go o&n to Hand over")

    def refresh(self) -> None:
        """Nothing here changes."""
