"""DXF, R12 to R2018, ASCII and binary, to a Drawing."""

from core.artwork.dxf.reading import read_dxf

__all__ = ["read_dxf"]
