"""Any file the maker opens becomes a Job: artwork, a job file, or what Tain itself exported; or an Order."""

from dataclasses import replace
from pathlib import Path

from core.artwork.drawing import ArtworkSource, ReadOptions
from core.artwork.reading import load_source, own_export
from core.burning.machines import Machine
from core.errors import UnreadableError
from core.figures import figures_of
from core.job.as_data import from_data
from core.job.datum import DATUM_LAYERS
from core.job.job import Job, Layer, new_job
from core.job.job_file import job_from_bytes
from core.job.prepare import prepare
from core.order.order import Order
from core.order.order_file import holds_order, order_from_bytes
from core.output.settings_document import Document, check_document, settings_document
from core.purposes import Purpose
from core.sheet.datum import Datum
from core.sheet.placement import Placement, Sheet
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock

JOB_SUFFIX = ".tain"


def open_order(path: Path) -> Order:
    """The order in the file, or one begun with the job or the artwork in it. Raises UnreadableError."""
    source = load_source(path)
    if holds_order(source.data):
        return order_from_bytes(source.data, name=path.name)
    return Order(design=open_job(path))


def open_job(path: Path) -> Job:
    """The job in, or begun by, the file. Raises UnreadableError."""
    source = load_source(path)
    _refuse_order(source)
    if path.suffix.lower() == JOB_SUFFIX or _looks_like_job(source):
        return job_from_bytes(source.data, name=path.name)
    return job_from_artwork(source)


def _refuse_order(source: ArtworkSource) -> None:
    if holds_order(source.data):
        raise UnreadableError(
            f"{source.name} holds an order of many parts, not one job.", hint=f"Use it with: tain pieces {source.name}."
        )


def job_from_artwork(source: ArtworkSource) -> Job:
    """A new job for the artwork; settings that an exported file carries are taken over."""
    document = embedded_settings(source)
    job = new_job(source)
    return job if document is None else _with_settings(job, document)


def embedded_settings(source: ArtworkSource) -> Document | None:
    """The settings document inside an exported file, None in any other. Raises UnreadableError."""
    own = own_export(source)
    return None if own is None else check_document(own.settings)


def _looks_like_job(source: ArtworkSource) -> bool:
    return source.data.startswith(b"PK\x03\x04") and b"job.json" in source.data[:256]


def _with_settings(job: Job, document: Document) -> Job:
    """The job with sheet, profiles and layers of an exported file, lying where it lay."""
    what = "The settings in this file"
    sheet = {key: value for key, value in document["sheet"].items() if key != "stock"}
    read_layers = tuple(_layer(data) for data in document["layers"])
    unused = tuple(layer for layer in job.layers if layer.id not in {read.id for read in read_layers})
    return replace(
        job,
        reading=ReadOptions(),
        sheet=from_data(Sheet, sheet, what=what),
        stock=from_data(Stock, document["stock"], what=what),
        machine=from_data(Machine, document["machine"], what=what),
        layers=read_layers + unused,
        turn=document["turn"],
        stop_corner=document["stop_corner"]["bed"],
        placement=Placement(centred=False),
        datum=from_data(Datum, document["datum"], what=what) if "datum" in document else job.datum,
    )


def _layer(data: Document) -> Layer:
    purpose: Purpose = (
        "guide" if data["id"] in DATUM_LAYERS else data["purpose"]
    )  # the datum is burned anew, not as artwork
    return Layer(id=data["id"], name=data["name"], purpose=purpose, colour=data["colour"], recipe=recipe_in(data))


def recipe_in(layer: Document) -> Recipe:
    """The recipe of a settings document's layer. Raises UnreadableError."""
    others = {figure.other_form.name for figure in figures_of(Recipe) if figure.other_form is not None}
    recipe = {key: value for key, value in layer["recipe"].items() if key not in others}
    return from_data(Recipe, recipe, what="The settings in this file")


def settings_in(path: Path) -> Document:
    """The settings document of an exported file or a job file. Raises UnreadableError when it holds none."""
    source = load_source(path)
    _refuse_order(source)
    if path.suffix.lower() == JOB_SUFFIX or _looks_like_job(source):
        return settings_document(prepare(job_from_bytes(source.data, name=path.name)))
    document = embedded_settings(source)
    if document is None:
        raise UnreadableError(
            f"{path.name} holds no settings of Tain.", hint="It was not exported by Tain, or they were lost."
        )
    return document
