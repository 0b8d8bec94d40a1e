"""How proofs and offers are made of what stands in the window, off the GUI thread."""

from datetime import date
from pathlib import Path

from PySide6.QtWidgets import QWidget

from app.dialogs.customer_page import Asked, CustomerPageDialog, Make
from app.session.placing import Placing
from app.session.shop import Shop
from app.widgets import messages
from core.job.plan import Plan
from core.order.order import Order
from core.progress import Progress
from core.shop_book.store import open_book


def ask_proof(parent: QWidget, placing: Placing, shop: Shop, order: Order, suggested: Path) -> None:
    """The page that the customer signs, looked at and saved."""
    _ask(parent, placing, shop, proof_of(order), title="Proof", suggested=suggested, words=None)


def ask_offer(
    parent: QWidget, placing: Placing, shop: Shop, order: Order, suggested: Path, *, plan: Plan | None = None
) -> None:
    """The page with the price, looked at and saved. plan: of a job, where it is worked out already."""
    from core.output.orders.customer_pages import offered_words

    make, words = offer_of_work(order, plan), offered_words(order)
    _ask(parent, placing, shop, make, title="Offer", suggested=suggested, words=words)


def _ask(
    parent: QWidget, placing: Placing, shop: Shop, make: Make, *, title: str, suggested: Path, words: str | None
) -> None:
    dialog = CustomerPageDialog(parent, placing, shop, make, title=title, suggested=suggested, words=words)
    messages.run(dialog)
    dialog.leave()
    dialog.deleteLater()


def proof_of(order: Order) -> Make:
    """Makes its proof."""

    def make(asked: Asked, progress: Progress) -> bytes:
        from core.output.orders.customer_pages import shown_work
        from core.output.orders.proof_page import proof
        from core.shop_book.shops_own import letterhead_of

        with open_book() as book:
            letterhead = letterhead_of(book)
        return proof(shown_work(order, progress=progress), letterhead, customer=asked.customer)

    return make


def offer_of_work(order: Order, plan: Plan | None = None) -> Make:
    """Makes its offer."""

    def make(asked: Asked, progress: Progress) -> bytes:
        from core.output.orders.customer_pages import work_cost
        from core.output.orders.offer_page import offer_of, offer_page
        from core.shop_book.rack import rack_pieces
        from core.shop_book.shops_own import letterhead_of, rates_of

        with open_book() as book:
            letterhead, rates, rack = letterhead_of(book), rates_of(book), rack_pieces(book)
        pieces = {uuid: piece for uuid, _, piece in rack}
        cost = work_cost(order, rates, pieces, plan=plan, progress=progress)
        offer = offer_of(
            cost,
            asked.words,
            quantity=asked.quantity,
            day=date.today(),
            number=asked.number,
            customer=asked.customer,
        )
        return offer_page(offer, letterhead)

    return make
