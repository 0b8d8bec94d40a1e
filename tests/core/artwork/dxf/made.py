"""DXF files made for tests."""

import io
from collections.abc import Callable
from typing import Any

import ezdxf

from core.artwork.drawing import Drawing, ReadOptions
from core.artwork.dxf.reading import read_dxf


def dxf_bytes(build: Callable[[Any, Any], object], *, version: str = "R2010", units: int = 4) -> bytes:
    """A DXF with what ``build(document, modelspace)`` draws into it."""
    document = ezdxf.new(version, units=units)
    build(document, document.modelspace())
    return written(document)


def written(document: Any) -> bytes:
    stream = io.StringIO()
    document.write(stream)
    encoding = "utf-8" if document.dxfversion >= "AC1021" else document.encoding
    return stream.getvalue().encode(encoding, "dxfreplace")


def drawn(build: Callable[[Any, Any], object], *, version: str = "R2010", **options: Any) -> Drawing:
    """The same, read."""
    return read_dxf(dxf_bytes(build, version=version), ReadOptions(**options))


def codes(drawing: Drawing) -> list[str]:
    return [finding.code for finding in drawing.findings]
