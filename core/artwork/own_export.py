"""The form of the files that Tain itself exports, known here alone.

An SVG holds the settings document in its metadata, a DXF in pieces in an XRECORD of the root dictionary, with each
layer's settings as XDATA on its entry in the layer table. The document says which face is shown, how the sheet was
turned, and which layers follow each other; so a file that comes back can be seen from the front again.
"""

import io
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from lxml import etree

from core.artwork.drawn_outlines import drawn_outlines
from core.element_faults import note_fault
from core.errors import UnreadableError
from core.foreign_json import read_json
from core.geometry.affine import IDENTITY, Affine
from core.geometry.path import Path
from core.geometry.turning import turned_over
from core.units import GREATEST_LENGTH_MM

NAMESPACE = "urn:tain:job:1"
"""Of the document's element and the layers' attributes in an SVG."""

APP_ID = "TAIN"
"""The registered application of the layers' data in a DXF."""

DOCUMENT_KEY = "TAIN_JOB"
"""The document's entry in the root dictionary of a DXF."""

MOST_BYTES = 16 * 1024 * 1024
"""Of a settings document."""

AGAIN = "Export it again from its job file."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OwnExport:
    """What an exported file says of itself.

    settings: the document, not yet checked against its schema. to_front: from the exported face, mm, y down, to the
    sheet's front. layers: id and purpose by their place in the burn order, from 1. moved_for_kerf: ids of the
    layers whose lines stand in the file as moved. drawn: areas as drawn, front frame, by the ids of the layers whose
    outlines stand in the file as compensated.
    """

    settings: dict[str, Any]
    to_front: Affine
    width_mm: float
    height_mm: float
    layers: dict[int, tuple[str, str]]
    moved_for_kerf: frozenset[str]
    drawn: dict[str, tuple[Path, ...]]


@lru_cache(maxsize=4)
def own_export_in_svg(data: bytes) -> OwnExport | None:
    """What an SVG says, None for one that Tain did not export. Raises UnreadableError when that is damaged."""
    if NAMESPACE.encode() not in data:
        return None
    found = etree.iterparse(
        io.BytesIO(data), events=("end",), tag=f"{{{NAMESPACE}}}job", resolve_entities=False, no_network=True
    )
    try:
        texts = [job.text for _, job in found][:1]
    except etree.XMLSyntaxError as error:
        raise UnreadableError(f"The SVG is not well formed: {error.msg}.") from None
    return said_by(texts[0]) if texts and texts[0] else None


def own_export_in_dxf(document: Any) -> OwnExport | None:
    """What an ezdxf document says, None for one that Tain did not export. Raises UnreadableError when damaged."""
    try:
        record = document.rootdict.get(DOCUMENT_KEY)
        if record is None or record.dxftype() != "XRECORD":
            return None
        text = "".join(tag.value for tag in record.tags if tag.code == 1)
    except (AttributeError, LookupError, TypeError, ValueError) as fault:
        note_fault(fault, "The settings in the DXF")
        return None
    return said_by(text)


def said_by(text: str) -> OwnExport:
    """What a settings document's text says. Raises UnreadableError when it is damaged."""
    settings = read_json(text, what="The file was exported by Tain, but what it says of itself", most_bytes=MOST_BYTES)
    try:
        layers = settings["layers"]
        width_mm, height_mm = float(settings["sheet"]["width_mm"]), float(settings["sheet"]["height_mm"])
        if not (0 < width_mm <= GREATEST_LENGTH_MM and 0 < height_mm <= GREATEST_LENGTH_MM):
            raise ValueError("no sheet is so large")
        return OwnExport(
            settings=settings,
            to_front=exported_face_to_front(settings),
            width_mm=width_mm,
            height_mm=height_mm,
            layers={int(layer["order"]): (str(layer["id"]), str(layer["purpose"])) for layer in layers},
            moved_for_kerf=frozenset(str(layer["id"]) for layer in layers if "lines_moved_for_kerf_mm" in layer),
            drawn=drawn_outlines(settings),
        )
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError, OverflowError):
        raise UnreadableError(
            "The file was exported by Tain, but its settings are damaged: which face it shows can't be told.",
            hint=AGAIN,
        ) from None


def exported_face_to_front(settings: dict[str, Any]) -> Affine:
    """From the frame of an exported file with this settings document to the sheet's front frame. Raises ValueError."""
    if settings["face"] not in ("front", "bed") or not isinstance(settings["turn_applied"], bool):
        raise ValueError("no face that an export shows")
    if settings["turn"] not in ("sideways", "endways"):
        raise ValueError("no way to turn a sheet over")
    if settings["face"] != "bed" or not settings["turn_applied"]:
        return IDENTITY
    sheet = settings["sheet"]
    return turned_over(settings["turn"], float(sheet["width_mm"]), float(sheet["height_mm"]))
