"""Files read with general libraries alone, and laid over each other by their datum."""

import io
from dataclasses import dataclass
from itertools import permutations

import ezdxf
import numpy as np
import shapely
from ezdxf.path import make_path
from lxml import etree
from svgelements import SVG, Group, Move
from svgelements import Path as SvgPath
from svgelements.svgelements import Arc, Line

from core.output.read_back import SVGELEMENTS_INCH


@dataclass(frozen=True)
class Lines:
    """Polylines (n, 2) of each layer by its name, mm, y down; curves within 0.0005 mm."""

    layers: dict[str, list[np.ndarray]]

    def rings(self, layer):
        """The closed ones as polygons."""
        return [shapely.Polygon(line) for line in self.layers.get(layer, ()) if len(line) > 3 and closed(line)]

    def region(self, layer):
        """What the closed ones go round, even-odd."""
        region = shapely.MultiPolygon()
        for ring in self.rings(layer):
            region = shapely.symmetric_difference(region, shapely.make_valid(ring))
        return region

    def circles(self, layer):
        """Middles of the round ones."""
        return np.array([shapely.get_coordinates(ring.centroid)[0] for ring in self.rings(layer) if is_round(ring)])


def closed(line):
    return float(np.hypot(*(line[0] - line[-1]))) < 2e-3


def is_round(ring):
    return abs(4 * np.pi * ring.area / ring.length**2 - 1) < 2e-3


def read(name, data):
    """What a file holds, whichever kind it is."""
    return _read_dxf(data) if name.endswith(".dxf") else _read_svg(data)


def _read_svg(data):
    root = etree.fromstring(data)
    for text in root.findall("{*}g[@id='notes']"):
        root.remove(text)
    shown = SVG.parse(io.BytesIO(etree.tostring(root)), ppi=1 / SVGELEMENTS_INCH)
    layers = {}
    for group in shown:
        if not isinstance(group, Group):
            continue
        attributes = group.values["attributes"]
        name = attributes.get("{urn:tain:job:1}layer") or attributes["id"].replace("-", " ")
        lines = layers.setdefault(name.casefold(), [])
        for path in group.select(lambda one: isinstance(one, SvgPath)):
            for sub in path.as_subpaths():
                lines.append(_svg_line(sub))
    return Lines(layers)


def _svg_line(segments):
    points = []
    for segment in segments:
        if isinstance(segment, Move):
            points.append((segment.end.x, segment.end.y))
        elif isinstance(segment, Arc) or not isinstance(segment, Line):
            if segment.end is None:
                continue
            curved = isinstance(segment, Arc) or hasattr(segment, "control1")
            points += segment.npoint(np.linspace(0, 1, 129)[1:] if curved else np.array([1.0])).tolist()
        else:
            points.append((segment.end.x, segment.end.y))
    return np.array(points, float)


def _read_dxf(data):
    document = ezdxf.read(io.StringIO(data.decode()))
    layers = {}
    for entity in document.modelspace():
        if entity.dxftype() == "TEXT":
            continue
        points = np.array([(p.x, -p.y) for p in make_path(entity).flattening(0.0005, segments=16)])
        layers.setdefault(entity.dxf.layer.casefold(), []).append(points)
    return Lines(layers)


def rigid(source, target, *, in_order=False):
    """(turn matrix, shift) that lays points on points best, never turned over, in any order; and what is left.

    The least squares of W. Kabsch, Acta Cryst. A 32 (1976) 922, in the plane.
    """
    best = None
    numbers = range(len(source))
    for order in [tuple(numbers)] if in_order else permutations(numbers):
        points = source[list(order)]
        a, b = points - points.mean(0), target - target.mean(0)
        angle = np.arctan2((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum(), (a * b).sum())
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        shift = target.mean(0) - turn @ points.mean(0)
        left = float(np.hypot(*(points @ turn.T + shift - target).T).max())
        if best is None or left < best[2]:
            best = (turn, shift, left)
    return best


def laid(region, turn, shift):
    """A region moved so."""
    return shapely.transform(region, lambda points: points @ turn.T + shift)


def farthest_mm(one, other):
    """How far any place of one boundary lies off the other, both ways."""
    lines = [shapely.boundary(region) for region in (one, other)]
    shapely.prepare(lines)
    points = [shapely.points(shapely.get_coordinates(shapely.segmentize(line, 0.2))) for line in lines]
    return float(max(shapely.distance(points[0], lines[1]).max(), shapely.distance(points[1], lines[0]).max()))
