"""Designs and lists for the tests of orders."""

from dataclasses import replace

from core.artwork.drawing import ArtworkSource
from core.job.job import new_job
from core.order.fields import Field
from core.order.list_reading import read_list
from core.order.order import Order
from core.sheet.placement import Sheet

PLATE = """<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="16mm" viewBox="0 0 50 16">
<rect x="0.1" y="0.1" width="49.8" height="15.8" rx="2" fill="none" stroke="red" stroke-width="0.1"/>
<text x="25" y="7" font-family="DejaVu Sans" font-size="5" text-anchor="middle">{name}</text>
<text x="25" y="13" font-family="DejaVu Sans" font-size="3" text-anchor="middle" fill="#0000ff">{role}</text></svg>"""


NARROWER = (Field(name="name", fit="narrower"),)


def order_of(text, *, svg=PLATE, sheet=(120.0, 60.0), fields=NARROWER, **options):
    """An order of a design and a list's text."""
    source = ArtworkSource(name="plate.svg", data=svg.encode())
    job = replace(new_job(source), sheet=Sheet(width_mm=sheet[0], height_mm=sheet[1], thickness_mm=3.0))
    names = None if text is None else read_list(text.encode(), name="club.csv")
    return Order(design=job, names=names, fields=fields, **options)
