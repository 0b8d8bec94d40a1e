"""What the dialog has done off the GUI thread: parts laid and reckoned, pages and files written."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from core.errors import JobError
from core.order.laying import rack_grounds
from core.order.order import Order
from core.order.working_out import WorkedOrder, work_out
from core.output.orders.reckoning import Reckoned, reckoned
from core.progress import Progress, part
from core.sheet.offcuts import Piece
from core.shop_book.rack import rack_pieces
from core.shop_book.shops_own import rates_of
from core.shop_book.store import open_book


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """An order laid on its sheets, and what that takes. stopping: why nothing can be handed over, empty if it can."""

    worked: WorkedOrder
    taken: Reckoned
    stopping: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Written:
    """What was written into a folder, or why nothing was; what of an order before was taken away there, in words."""

    count: int
    stopped: str = ""
    gone: str = ""


def laid_out(order: Order, *, on_rack: bool, anew: bool, progress: Progress) -> Laid:
    """The parts laid on sheets and worked out, anew or as they lie. Raises JobError, UnreadableError, Cancelled."""
    from core.output.orders.files import what_stops

    with open_book() as book:
        rack, rates = rack_pieces(book), rates_of(book)
    grounds = rack_grounds(rack, order.design) if on_rack else ()
    if on_rack and anew and not grounds:
        raise JobError(
            f"No piece on the rack is {order.design.stock.name}, {order.design.sheet.thickness_mm:g} mm.",
            hint="Lay them on sheets like this job's, or put pieces on the rack.",
        )
    pieces = _by_id(rack)
    worked = work_out(order, grounds, pieces, lay_anew=anew, progress=part(progress, 0.0, 0.95))
    taken = reckoned(worked, rates, pieces, progress=part(progress, 0.95, 1.0))
    return Laid(worked=worked, taken=taken, stopping=next(iter(what_stops(worked)), ""))


def write_all(laid: Laid, folder: Path, *, overwrite: bool, progress: Progress) -> Written:
    """Every file of the order into a folder. Raises JobError, WriteError, Cancelled."""
    from core.output.orders.files import gone_words, order_files, write_order

    if laid.stopping:
        return Written(count=0, stopped=laid.stopping)
    with open_book() as book:
        pieces = _by_id(rack_pieces(book))
    files = order_files(laid.worked, laid.taken, pieces, progress=progress)
    return Written(count=len(files), gone=gone_words(write_order(files, folder, overwrite=overwrite)))


def _by_id(rack: Sequence[tuple[str, str, Piece]]) -> dict[str, Piece]:
    return {uuid: piece for uuid, _, piece in rack}
