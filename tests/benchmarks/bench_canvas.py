"""The faces of a plan of 100,000 segments: frames while panning, zoom steps, sharp pictures, at several zooms.

Offscreen, through the widget's own painting. The reference paints all shapes anew in every frame. Processor time of
the GUI thread stands beside the times, which say little when other programs keep the machine busy.
"""

import os
import time
from collections.abc import Callable, Iterable
from dataclasses import replace

import numpy as np
import shapely

from tests.benchmarks import Line

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QPointF
from PySide6.QtWidgets import QApplication

from app.canvas.faces_view import FacesView
from app.canvas.paintings import painting_of
from app.canvas.pictures import Request, draw, frame_around
from app.canvas.scene import Scene
from app.theme.in_force import apply_theme
from app.theme.theme import theme
from core.artwork.drawing import Drawing, Shape
from core.artwork.sorting.deciding import Sorted
from core.geometry.affine import IDENTITY
from core.geometry.path import polyline
from core.geometry.stroke import Stroke
from core.job.job import new_job
from core.job.plan import LayerPlan, Plan

SHAPES, POINTS = 2000, 50
WIDTH_MM, HEIGHT_MM = 600.0, 300.0
VIEW_PX = (1600, 1000)
ZOOMS_PX_PER_MM = (1.2, 5.0, 20.0, 100.0, 500.0)
FRAMES = 60
FRAME_S = 1 / 60
ZOOM_S = 0.05
PURPOSES = ("fill", "cut", "score")


def run() -> Iterable[Line]:
    """Frames, zoom steps and sharp pictures at each zoom."""
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    apply_theme(app, "light")
    view = FacesView()
    view.resize(*VIEW_PX)
    view.show()
    plan = large_plan()
    view.set_mode("layers")
    start = time.perf_counter()
    view.set_plan(plan)
    _wait_for(app, lambda: view.pictures.settled)
    yield Line(name=f"canvas, {SHAPES * POINTS:,} segments, first picture", time_s=time.perf_counter() - start)
    try:
        for px_per_mm in ZOOMS_PX_PER_MM:
            yield from _at_zoom(app, view, plan, px_per_mm)
    finally:
        view.shutdown()


def _at_zoom(app: QApplication, view: FacesView, plan: Plan, px_per_mm: float) -> Iterable[Line]:
    area = view.state.faces[0].area
    view.zooming.zoom_to(WIDTH_MM / 2, HEIGHT_MM / 2, min(area.width(), area.height()) / px_per_mm)
    _wait_for(app, lambda: view.pictures.settled)
    anew_s = _painting_anew_s(view, plan)
    steps = [_zoom_step(app, view, factor) for factor in (1.25, 0.8, 1.25, 0.8)]
    painted, sharp_s = [step for step, _ in steps], float(np.median([sharp_s for _, sharp_s in steps]))
    frames = _panning(app, view)
    name = f"canvas at {view.state.view.px_per_mm:g} px/mm"
    for what, measured, goal_s in (("frame while panning", frames, FRAME_S), ("zoom step, painted", painted, ZOOM_S)):
        wall_s, processor_s = (np.array(times) for times in zip(*measured, strict=True))
        yield Line(
            name=f"{name}, {what}",
            time_s=float(np.median(wall_s)),
            reference="all painted anew",
            reference_s=anew_s,
            note=f"goal {1e3 * goal_s:.1f} ms; 95th percentile {1e3 * np.percentile(wall_s, 95):.1f} ms; "
            f"processor {1e3 * np.median(processor_s):.1f} ms",
        )
    yield Line(name=f"{name}, zoom step, sharp again", time_s=sharp_s, reference="all painted anew", reference_s=anew_s)


def _zoom_step(app: QApplication, view: FacesView, factor: float) -> tuple[tuple[float, float], float]:
    """Seconds and processor seconds from a zoom step to the painted frame; seconds to the sharp picture."""
    _wait_for(app, lambda: view.pictures.settled)
    _wait_for(app, lambda: True, least_s=0.5)  # as between two turns of the wheel
    start, start_processor = time.perf_counter(), time.thread_time()
    view.zooming.zoom_by(factor, QPointF(view.state.faces[0].middle))
    view.repaint()
    painted = (time.perf_counter() - start, time.thread_time() - start_processor)
    _wait_for(app, lambda: view.pictures.settled)
    view.repaint()
    return painted, time.perf_counter() - start


def _panning(app: QApplication, view: FacesView) -> list[tuple[float, float]]:
    """Seconds and processor seconds of each frame of a pan, 12 px a frame, 60 frames a second, there and back."""
    frames = []
    for nth in range(FRAMES):
        start, start_processor = time.perf_counter(), time.thread_time()
        direction = 1 if nth < FRAMES / 2 else -1
        view.zooming.pan_by(view.state.faces[0], 12.0 * direction, 5.0 * direction)
        view.repaint()
        frames.append((time.perf_counter() - start, time.thread_time() - start_processor))
        _wait_for(app, lambda: True, least_s=FRAME_S - frames[-1][0])
    return frames


def _painting_anew_s(view: FacesView, plan: Plan) -> float:
    """Seconds that painting both faces from the shapes takes: what each frame would cost without pictures."""
    frame = frame_around(view.state.faces[0], 1.0)
    scene = Scene(plan)
    request = Request(key=0, frame=frame, theme=theme(), paint=painting_of("purposes", scene, ()))
    draw(request, lambda share, doing: None)
    start = time.perf_counter()
    draw(request, lambda share, doing: None)
    return 2 * (time.perf_counter() - start)


def _wait_for(app: QApplication, done: Callable[[], bool], *, least_s: float = 0.0) -> None:
    start = time.perf_counter()
    while True:
        app.processEvents()
        if done() and time.perf_counter() - start >= least_s:
            return
        time.sleep(0.0005)


def large_plan() -> Plan:
    """Wavy rings in rows and columns, in turn filled, cut and scored."""
    rng = np.random.default_rng(7)
    columns = int(np.sqrt(SHAPES * WIDTH_MM / HEIGHT_MM))
    rows = -(-SHAPES // columns)
    t = np.linspace(0.0, 2 * np.pi, POINTS + 1)
    shapes, regions, paths = [], [], {purpose: [] for purpose in PURPOSES}
    layer_of = {}
    for i in range(SHAPES):
        waves = 1 + 0.15 * np.sin(5 * t + rng.uniform(0, 6)) + 0.05 * np.sin(11 * t + rng.uniform(0, 6))
        radius = 0.42 * WIDTH_MM / columns * waves
        x = (i % columns + 0.5) * WIDTH_MM / columns + radius * np.cos(t)
        y = (i // columns + 0.5) * HEIGHT_MM / rows + radius * np.sin(t)
        points = np.stack([x, y], axis=1)
        points[-1] = points[0]
        purpose = PURPOSES[i % len(PURPOSES)]
        shape_id, path = f"ring{i}", polyline(points, closed=True)
        stroke = None if purpose == "fill" else Stroke(colour="#c00000", width=0.1, width_mm=0.1)
        fill = "#202020" if purpose == "fill" else None
        shapes.append(Shape(id=shape_id, kind="path", path=path, fill=fill, stroke=stroke))
        layer_of[shape_id] = purpose
        if purpose == "fill":
            regions.append(shapely.Polygon(points))
        else:
            paths[purpose].append(path)
    job = new_job()
    region = shapely.MultiPolygon(regions)
    layers = tuple(
        LayerPlan(
            layer=layer,
            shape_ids=(),
            region=region if layer.purpose == "fill" else shapely.MultiPolygon(),
            paths=tuple(paths.get(layer.purpose, ())),
            area_mm2=0.0,
            length_mm=0.0,
        )
        for layer in job.layers
    )
    return Plan(
        job=replace(job, sheet=replace(job.sheet, width_mm=WIDTH_MM, height_mm=HEIGHT_MM)),
        drawing=Drawing(width_mm=WIDTH_MM, height_mm=HEIGHT_MM, units_from="by hand", shapes=tuple(shapes)),
        drawing_to_front=IDENTITY,
        sorted=tuple(Sorted(shape_id=shape.id, purpose="fill", why="by hand") for shape in shapes),
        layer_of=layer_of,
        layers=layers,
        findings=(),
        cautions=(),
        complete=False,
    )
