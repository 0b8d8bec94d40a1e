"""Picture files for the tests, made here."""

import io
from typing import Any

import numpy as np
from PIL import Image

from core.artwork.drawing import ArtworkSource, ReadOptions
from core.artwork.pictures.decisions import PictureOptions


def source(image: Image.Image, kind: str = "PNG", **options: Any) -> ArtworkSource:
    return ArtworkSource(name=f"picture.{kind.lower()}", data=file_bytes(image, kind, **options))


def file_bytes(image: Image.Image, kind: str = "PNG", **options: Any) -> bytes:
    buffer = io.BytesIO()
    image.save(buffer, kind, **options)
    return buffer.getvalue()


def square(side_px: int = 40, inner: tuple[int, int, int, int] = (10, 8, 30, 32), *, mode: str = "L") -> Image.Image:
    """A black rectangle, left top right bottom, on white."""
    grey = np.full((side_px, side_px), 255, np.uint8)
    left, top, right, bottom = inner
    grey[top:bottom, left:right] = 0
    return Image.fromarray(grey).convert(mode)


def reading(**picture: Any) -> ReadOptions:
    return ReadOptions(picture=PictureOptions(**picture))
