"""Picture files for the tests, made here."""

import io
from dataclasses import replace
from typing import Any

import numpy as np
from PIL import Image

from core.artwork.drawing import ArtworkSource, ReadOptions
from core.artwork.picture_decisions import BaredIs, PictureOptions
from core.job.job import new_job
from core.job.plan import Plan
from core.job.prepare import prepare


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


STEPS = (0, 64, 128, 192, 255)
WIDE_PX, HIGH_PX = 100, 60


def wedge_bytes() -> bytes:
    """Five steps from black on the left to white on the right, 50 x 30 mm."""
    greys = np.repeat(np.array(STEPS, np.uint8), WIDE_PX // len(STEPS))[None].repeat(HIGH_PX, axis=0)
    return file_bytes(Image.fromarray(greys), dpi=(50.8, 50.8))


def wedge_plan(bared_is: BaredIs) -> Plan:
    """The wedge, screened."""
    job = new_job(ArtworkSource(name="wedge.png", data=wedge_bytes()))
    picture = PictureOptions(way="screen", bared_is=bared_is)
    return prepare(replace(job, reading=replace(job.reading, picture=picture)))
