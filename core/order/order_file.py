"""An order as a file, ``.tain`` as a job's is: a zip of ``order.json`` and the design's original bytes.

order.json: ``{"tain_order": 1, "artwork": name or null, "order": {...}}``. Older versions are read, newer ones refused.
A design of which no list makes many is kept as the job it is.
"""

from dataclasses import replace
from pathlib import Path

from core.atomic import write_atomically
from core.job.as_data import from_data, to_data
from core.job.job_file import job_file_bytes, job_from_bytes
from core.job.kept_file import Form, kept_bytes, read_kept
from core.order.order import Order
from core.plain_file import plain_file_bytes

VERSION = 1
ORDER_FORM = Form(key="order", named="order", version=VERSION, most_bytes=64 * 1024 * 1024)


def holds_order(data: bytes) -> bool:
    """Whether a file's bytes are an order's."""
    return ORDER_FORM.is_form_of(data)


def order_file_bytes(order: Order) -> bytes:
    """The order as a file's bytes; the same order always gives the same bytes."""
    content = to_data(replace(order, design=replace(order.design, source=None)))
    return kept_bytes(ORDER_FORM, content, order.design.source)


def order_from_bytes(data: bytes, *, name: str) -> Order:
    """The order in a file's bytes; ``name`` is for messages. Raises UnreadableError."""
    content, artwork = read_kept(ORDER_FORM, data, name=name)
    order = from_data(Order, content, what=f"The order in {name}")
    return replace(order, design=replace(order.design, source=artwork))


def save_work(order: Order, path: Path, *, overwrite: bool = False) -> None:
    """Write a job file where the order is one job only, else an order's; wholly or not at all. Raises WriteError."""
    data = job_file_bytes(order.design) if order.is_job else order_file_bytes(order)
    write_atomically(path, data, overwrite=overwrite)


def load_work(path: Path) -> Order:
    """The order in a job file or an order's. Raises UnreadableError, also for one written by a newer version."""
    data = plain_file_bytes(path)
    if holds_order(data):
        return order_from_bytes(data, name=path.name)
    return Order(design=job_from_bytes(data, name=path.name))
