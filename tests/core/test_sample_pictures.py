"""The sample pictures are what their script makes, and come in as they are meant to."""

from pathlib import Path

import numpy as np
from PIL import Image

from core.artwork.drawing import ReadOptions
from core.artwork.painting import drawing_regions
from core.artwork.reading import load_source, read_artwork
from core.geometry.engine import united
from tests.sample_pictures import FOLDER, bay, logo


def pixels(path: Path) -> np.ndarray:
    with Image.open(path) as image:
        return np.asarray(image.convert("RGBA"), float)


def test_they_are_what_the_script_makes() -> None:
    assert np.abs(pixels(FOLDER / "house-logo.png") - np.asarray(logo().convert("RGBA"), float)).max() <= 1
    assert np.abs(pixels(FOLDER / "bay.jpg") - np.asarray(bay().convert("RGBA"), float)).mean() < 4


def test_the_logo_is_a_ring_a_gull_and_two_waves() -> None:
    drawing = read_artwork(load_source(FOLDER / "house-logo.png"), ReadOptions())
    region = united(drawing_regions(drawing))
    px_mm = 25.4 / 300
    assert len(drawing.shapes) == 4
    ring = max(region.geoms, key=lambda part: part.bounds[2] - part.bounds[0])
    wanted = np.pi * (200**2 - 178**2) * px_mm**2
    assert abs(ring.area - wanted) < 0.01 * wanted
