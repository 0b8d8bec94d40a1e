"""How large the outlines of a screen become in files, by writing some of them."""

from core.burning.dose import Floats
from core.burning.screens.layer_screen import LayerScreen
from core.geometry.affine import IDENTITY
from core.geometry.svg_data import bands_data

BAND_PLACES = 4
"""Decimals of a band's corners in files: a tenth of a micron."""
_DXF_AROUND = 125
"""Bytes of a closed polyline of four corners beside its coordinates, as ezdxf writes it under a short layer name."""
_SAMPLE = 2_000


def svg_bytes(screen: LayerScreen) -> int:
    """Of a screen's bands in an SVG."""
    some, times = _some(screen)
    return round(times * sum(map(len, bands_data(some, at_once=_SAMPLE))))


def dxf_bytes(screen: LayerScreen) -> int:
    """Of a screen's bands in a DXF."""
    some, times = _some(screen)
    return round(times * (_DXF_AROUND * len(some) + sum(len(f"{value}") for value in some.ravel().tolist())))


def _some(screen: LayerScreen) -> tuple[Floats, float]:
    """Bands of the screen, and how many each stands for."""
    count = len(screen.spans)
    bands = screen.bands_mm(IDENTITY, every=max(1, count // _SAMPLE)).round(BAND_PLACES)
    return bands, count / max(1, len(bands))
