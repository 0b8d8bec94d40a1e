"""Nesting held against tilings whose best density is known to be 1 (sources in ``tilings``)."""

import pytest
import shapely

from core.sheet.copies import laid_shapes, nested
from tests.references.tilings import instances

LEAST = {"nine": 0.9999, "21": 0.94, "twelve": 0.75}
"""What one run has to reach in a strip; the benchmark ``nesting`` prints what it does reach."""


@pytest.mark.parametrize("instance", list(instances()), ids=lambda instance: instance[0])
def test_known_tilings_are_packed_soundly_and_densely(instance):
    name, wanted, height_mm, length_mm = instance
    area_mm2 = sum(one.shape.area for one in wanted)
    assert area_mm2 == pytest.approx(height_mm * length_mm)  # the tiling as published
    room = shapely.box(0, 0, 4 * length_mm, height_mm)
    layout = nested(room, wanted, spacing_mm=0.0, cell_mm=0.5, time_s=1.0)
    shapes = laid_shapes(layout, wanted)
    assert layout.left_over == 0 and len(shapes) == len(wanted)
    assert shapely.union_all(shapes).area == pytest.approx(area_mm2, rel=1e-6)  # no two overlap
    assert area_mm2 / (height_mm * layout.width_mm) >= LEAST[name.split()[0]]
