"""What must hold of every account, checked against what GEOS makes of the same geometry."""

import pytest
import shapely

from core.artwork.account import FATES, Account, account_data, account_of
from core.artwork.composing import LayerArtwork, compose_layers
from core.artwork.drawing import Drawing, SortOptions
from core.artwork.line_ids import whole_id
from core.artwork.painting import drawing_regions
from core.artwork.separating import separated
from core.artwork.sorting.deciding import sort_shapes
from core.geometry.engine import united
from core.geometry.flattening import flatten
from core.job.job import standard_layers
from core.sheet.stock import MIRRORED_ACRYLIC_3

LAYERS = standard_layers(MIRRORED_ACRYLIC_3)
OPTIONS = SortOptions()


def accounted(drawing: Drawing) -> tuple[Drawing, Account, dict[str, LayerArtwork]]:
    drawing = separated(drawing, line_width_mm=OPTIONS.line_width_mm)
    fates = {one.shape_id: (one.purpose, one.why) for one in sort_shapes(drawing, OPTIONS)}
    artworks, _ = compose_layers(drawing, {key: fate for key, (fate, _) in fates.items()}, LAYERS, OPTIONS)
    account = account_of(drawing, fates, [(layer.purpose, artworks[layer.id]) for layer in LAYERS], OPTIONS)
    return drawing, account, artworks


def assert_adds_up(drawing: Drawing) -> None:
    """Every shape once; areas and lengths against what GEOS makes of the same geometry."""
    parts, account, artworks = accounted(drawing)
    told = [shape_id for entry in account.entries for shape_id in entry.shape_ids]
    assert sorted(told) == sorted(shape.id for shape in parts.shapes)
    assert {whole_id(one) for one in told} == {shape.id for shape in drawing.shapes}
    missing = sum(one.count for one in drawing.missing)
    assert account.shapes == len(drawing.shapes) + missing
    assert account.read == len(parts.shapes) + missing == sum(account.count(fate) for fate in FATES)
    assert sum(account.area_mm2.values()) == pytest.approx(account.read_mm2, rel=1e-9, abs=1e-6)
    assert sum(account.length_mm.values()) == pytest.approx(account.read_mm, rel=1e-9, abs=1e-6)
    data = account_data(account)
    assert data["read"] == sum(data[fate] for fate in FATES)

    regions = dict(zip((shape.id for shape in parts.shapes), drawing_regions(parts, line_width_mm=0.3), strict=True))
    filled = [regions[shape_id] for shape_id in artworks["fill"].shape_ids]
    burned_mm2 = account.area_mm2.get("filled", 0.0)
    painted_mm2 = united(filled).area
    kept_back = any("kept there" in entry.why for entry in account.entries)
    assert burned_mm2 == pytest.approx(painted_mm2, rel=1e-6, abs=1e-3) or (kept_back and burned_mm2 < painted_mm2)
    for purpose, fate in (("cut", "cut"), ("score", "scored")):
        lines = [flatten(path, 1e-4).points for path in artworks[purpose].paths]
        traced_mm = sum(shapely.length(shapely.linestrings(points)) for points in lines if len(points) > 1)
        assert account.length_mm.get(fate, 0.0) == pytest.approx(traced_mm, rel=1e-3, abs=1e-3)
