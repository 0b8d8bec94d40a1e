"""Made files against what ezdxf's own drawing add-on (1.4.5) draws of them: areas, lengths and places.

Left out where the add-on is known to differ: it cannot shear what lies in blocks within squashed blocks, walks splines
without clamped ends beyond their span, does not slant text, and draws layers that are not plotted.
"""

from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf.addons.drawing import Frontend, RenderContext
from ezdxf.addons.drawing.backend import Backend
from ezdxf.addons.drawing.config import Configuration, HatchPolicy, TextPolicy
from ezdxf.enums import TextEntityAlignment

from core.artwork.drawing import ReadOptions
from core.artwork.dxf.reading import read_dxf
from core.artwork.fonts.catalogue import installed_fonts
from core.artwork.painting import painted_region
from core.geometry.flattening import flatten
from tests.core.artwork.dxf.made import written

FINE = 0.001
FONT = "DejaVuSans.ttf"


class Recorder(Backend):
    """Keeps what the add-on draws."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[np.ndarray] = []
        self.areas: list[Any] = []

    def set_background(self, color: Any) -> None: ...

    def draw_point(self, pos: Any, properties: Any) -> None: ...

    def draw_line(self, start: Any, end: Any, properties: Any) -> None:
        self._line([start, end])

    def draw_solid_lines(self, lines: Any, properties: Any) -> None:
        for line in lines:
            self._line(line)

    def draw_path(self, path: Any, properties: Any) -> None:
        self._line(path.flattening(FINE))

    def draw_filled_paths(self, paths: Any, properties: Any) -> None:
        area = shapely.Polygon()
        for path in paths:
            points = [(p.x, p.y) for p in path.flattening(FINE)]
            if len(points) > 3:
                area = area.symmetric_difference(shapely.make_valid(shapely.Polygon(points)))
        self.areas.append(area)

    def draw_filled_polygon(self, points: Any, properties: Any) -> None:
        self.areas.append(shapely.make_valid(shapely.Polygon([(p.x, p.y) for p in points.vertices()])))

    def draw_image(self, image_data: Any, properties: Any) -> None: ...

    def clear(self) -> None: ...

    def _line(self, points: Any) -> None:
        line = np.array([(p.x, p.y) for p in points])
        if len(line) > 1:
            self.lines.append(line)


def _lines_and_arcs(d: Any, m: Any) -> None:
    m.add_line((0, 0), (10, 5))
    m.add_arc((20, 20), 7, 350, 80)
    m.add_circle((5, 5), 3)
    m.add_ellipse((30, 5), (8, 3), 0.4, 0.5, 4)
    m.add_ellipse((60, 5), (8, 3), 0.4)


def _polylines(d: Any, m: Any) -> None:
    m.add_lwpolyline([(0, 0, 0), (20, 0, 1), (20, 10, 0), (0, 10, 1)], format="xyb", close=True)
    m.add_lwpolyline([(30, 0, 0.5), (50, 0, -2), (60, 10, 0)], format="xyb")
    m.add_polyline2d([(0, 30), (20, 30, -0.3), (20, 40)], format="xyb", close=True)
    m.add_polyline3d([(40, 30, 5), (60, 35, 9), (50, 40, 0)])


def _wide_polylines(d: Any, m: Any) -> None:
    m.add_lwpolyline([(0, 0, 2, 2), (20, 0, 2, 2), (20, 20, 2, 2)], format="xyse")
    m.add_lwpolyline([(40, 0, 2, 4, 0), (60, 0, 1, 3, 0.4), (60, 10, 2, 2, 0)], format="xyseb")


def _splines(d: Any, m: Any) -> None:
    m.add_open_spline([(0, 0), (10, 20), (20, -10), (30, 5), (40, 0)], degree=3)
    m.add_open_spline([(0, 30), (10, 50), (20, 30)], degree=2)
    m.add_rational_spline([(0, 60), (10, 60), (10, 70)], weights=[1, 0.5**0.5, 1], degree=2)
    m.add_spline(fit_points=[(0, 80), (10, 90), (20, 80), (30, 95)])
    m.add_open_spline([(50, 50), (60, 70), (70, 40), (80, 60), (90, 50), (95, 70)], degree=5)


def _hatches(d: Any, m: Any) -> None:
    islands = m.add_hatch()
    islands.paths.add_polyline_path([(0, 0), (20, 0, 1), (20, 20), (0, 20)], is_closed=True, flags=1)
    islands.paths.add_polyline_path([(5, 5), (15, 5), (15, 15), (5, 15)], is_closed=True, flags=16)
    islands.paths.add_edge_path().add_ellipse((10, 10), (3, 0), 0.5, 0, 360)
    half = m.add_hatch(color=1).paths.add_edge_path()
    half.add_arc((50, 10), 10, 0, 180)
    half.add_line((40, 10), (60, 10))
    other_half = m.add_hatch(color=1).paths.add_edge_path()
    other_half.add_arc((80, 10), 10, 0, 180, ccw=False)
    other_half.add_line((70, 10), (90, 10))
    curve = m.add_hatch(color=1).paths.add_edge_path()
    curve.add_spline(control_points=[(0, 40), (10, 60), (20, 30), (30, 40)], degree=3, knot_values=[0] * 4 + [1] * 4)
    curve.add_line((30, 40), (0, 40))
    bow = m.add_hatch(color=1).paths.add_edge_path()
    bow.add_ellipse((60, 50), (10, 5), 0.5, 20, 200)
    bow.add_line(bow.edges[0].end_point, bow.edges[0].start_point)


def _hatch_style(style: int) -> Any:
    def build(d: Any, m: Any) -> None:
        hatch = m.add_hatch()
        hatch.dxf.hatch_style = style
        for inset, flags in ((0, 1), (5, 16), (10, 0)):
            a, b = inset, 40 - inset
            hatch.paths.add_polyline_path([(a, a), (b, a), (b, b), (a, b)], flags=flags)

    return build


def _solids(d: Any, m: Any) -> None:
    m.add_solid([(0, 0), (10, 0), (0, 10), (10, 10)])
    m.add_trace([(20, 0), (30, 0), (20, 10), (35, 10)])
    m.add_3dface([(40, 0), (50, 0), (50, 10), (40, 10)])
    m.add_solid([(60, 0), (70, 0), (65, 10)])


def _block(d: Any) -> None:
    block = d.blocks.new("B", base_point=(1, 1))
    block.add_line((0, 0), (5, 0))
    block.add_arc((0, 0), 3, 0, 90)
    block.add_lwpolyline([(0, 0, 0), (4, 0, 1), (4, 3, 0)], format="xyb")
    block.add_hatch().paths.add_polyline_path([(0, 0), (3, 0), (3, 1)])


def _inserts(d: Any, m: Any) -> None:
    _block(d)
    outer = d.blocks.new("C")
    outer.add_blockref("B", (2, 3), dxfattribs={"rotation": 30, "xscale": 2, "yscale": -2})
    outer.add_circle((0, 0), 1)
    m.add_blockref("B", (10, 10))
    m.add_blockref("B", (30, 10), dxfattribs={"xscale": -1})
    m.add_blockref("B", (30, 30), dxfattribs={"xscale": 2, "yscale": 3, "rotation": 15})
    m.add_blockref("C", (60, 10), dxfattribs={"xscale": -2, "yscale": 2, "rotation": 15})
    m.add_blockref("C", (80, 40), dxfattribs={"extrusion": (0, 0, -1)})


def _array(d: Any, m: Any) -> None:
    _block(d)
    m.add_blockref(
        "B", (0, 60),
        dxfattribs={"row_count": 2, "column_count": 3, "row_spacing": 10, "column_spacing": 12, "rotation": 20},
    )  # fmt: skip


def _other_planes(d: Any, m: Any) -> None:
    below = {"extrusion": (0, 0, -1)}
    m.add_arc((10, 5), 2, 0, 90, dxfattribs=below)
    m.add_circle((10, 15), 2, dxfattribs={"extrusion": (1, 1, 1)})
    m.add_lwpolyline([(0, 0, 0), (20, 0, 1), (20, 10, 0), (0, 10, 1)], format="xyb", close=True, dxfattribs=below)
    m.add_ellipse((5, 5), (3, 0), 0.5, 0, 2, dxfattribs=below)
    m.add_hatch(dxfattribs=below).paths.add_polyline_path([(30, 0), (40, 0), (40, 10)])


def _composed(d: Any, m: Any) -> None:
    m.add_mline([(0, 0), (20, 0), (20, 20)])
    m.add_leader([(0, 30), (10, 40), (20, 40)])


def _texts(d: Any, m: Any) -> None:
    d.styles.add("S", font=FONT)
    style = {"style": "S"}
    m.add_text("Hello gj", height=5, dxfattribs=style).set_placement((0, 0))
    m.add_text("Turned", height=4, rotation=30, dxfattribs=style).set_placement(
        (50, 10), align=TextEntityAlignment.MIDDLE_CENTER
    )
    m.add_text("Top right", height=4, dxfattribs=style).set_placement((90, 40), align=TextEntityAlignment.TOP_RIGHT)
    m.add_text("pj low", height=4, dxfattribs=style).set_placement((60, 60), align=TextEntityAlignment.BOTTOM_CENTER)
    m.add_text("fit", height=4, dxfattribs=style).set_placement((0, 20), (30, 25), align=TextEntityAlignment.FIT)
    m.add_text("wide", height=4, dxfattribs=style | {"width": 1.5}).set_placement((0, 40))


CASES = {
    "lines and arcs": _lines_and_arcs,
    "polylines": _polylines,
    "wide polylines": _wide_polylines,
    "splines": _splines,
    "hatches": _hatches,
    "hatch style normal": _hatch_style(0),
    "hatch style outermost": _hatch_style(1),
    "hatch style ignore": _hatch_style(2),
    "solids": _solids,
    "inserts": _inserts,
    "array": _array,
    "other planes": _other_planes,
    "composed": _composed,
}


def _compared(build: Any, version: str = "R2010") -> tuple[Any, Any, Any, Any]:
    """Their areas and lines, our areas and lines, all in our page's frame."""
    document = ezdxf.new(version, units=4)
    build(document, document.modelspace())
    recorder = Recorder()
    settings = Configuration(hatch_policy=HatchPolicy.SHOW_SOLID, text_policy=TextPolicy.FILLING)
    Frontend(RenderContext(document), recorder, config=settings).draw_layout(document.modelspace())
    lines, areas = shapely.MultiLineString(recorder.lines), shapely.union_all(recorder.areas)
    x0, _, _, y1 = shapely.GeometryCollection([lines, areas]).bounds

    def to_page(points: np.ndarray) -> np.ndarray:
        return np.column_stack([points[:, 0] - x0, y1 - points[:, 1]])

    drawing = read_dxf(written(document), ReadOptions(units="mm"))
    painted = [s for s in drawing.shapes if s.fill or (s.stroke and s.stroke.width)]
    ours = shapely.union_all([painted_region(shape, tolerance_mm=FINE) for shape in painted])
    bare = [shape for shape in drawing.shapes if shape.stroke and not shape.stroke.width]
    our_lines = shapely.MultiLineString([part for shape in bare for part in flatten(shape.path, FINE).parts()])
    return shapely.transform(areas, to_page), shapely.transform(lines, to_page), ours, our_lines


@pytest.mark.parametrize("name", CASES)
def test_drawn_alike(name: str) -> None:
    areas, lines, ours, our_lines = _compared(CASES[name])
    assert our_lines.length == pytest.approx(lines.length, rel=1e-3)
    assert ours.area == pytest.approx(areas.area, rel=1e-3)
    if not lines.is_empty:
        assert shapely.hausdorff_distance(lines, our_lines) < 0.02
    if not areas.is_empty:
        assert areas.intersection(ours).area / areas.union(ours).area > 0.99


@pytest.mark.skipif(not any(face.file.endswith(FONT) for face in installed_fonts()), reason=f"{FONT} is not installed")
def test_texts_drawn_alike() -> None:
    areas, _, ours, _ = _compared(_texts)
    assert areas.intersection(ours).area / areas.union(ours).area > 0.97
