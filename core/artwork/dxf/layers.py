"""The layer table: what is shown, and in which colour and linetype."""

from dataclasses import dataclass
from typing import Any

from core.artwork.dxf.colours import index_colour, true_colour
from core.artwork.dxf.mending import FAULTS
from core.element_faults import note_fault


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerEntry:
    """hidden: why its entities are left out ("off", "frozen", "not plotted"), or empty."""

    name: str
    colour: str
    linetype: str
    hidden: str


DEFAULT = LayerEntry(name="0", colour="#000000", linetype="CONTINUOUS", hidden="")


class LayerTable:
    """Layers by name, whatever its case; an unknown one is as the default."""

    def __init__(self, document: Any) -> None:
        self._layers: dict[str, LayerEntry] = {}
        for layer in document.layers:
            try:
                self._layers[layer.dxf.name.casefold()] = _entry(layer)
            except FAULTS as fault:
                note_fault(fault, "an entry of the layer table of a DXF file")  # drawn as on the default layer

    def __getitem__(self, name: str) -> LayerEntry:
        return self._layers.get(name.casefold(), DEFAULT)


def _entry(layer: Any) -> LayerEntry:
    dxf = layer.dxf
    index = dxf.get("color", 7)
    rgb = dxf.get("true_color")
    if index < 0:
        hidden = "off"
    elif dxf.get("flags", 0) & 1:
        hidden = "frozen"
    elif dxf.get("plot", 1) == 0 or dxf.name.casefold() == "defpoints":
        hidden = "not plotted"
    else:
        hidden = ""
    return LayerEntry(
        name=dxf.name,
        colour=true_colour(rgb) if rgb is not None else index_colour(index),
        linetype=(dxf.get("linetype") or "CONTINUOUS").upper(),
        hidden=hidden,
    )
