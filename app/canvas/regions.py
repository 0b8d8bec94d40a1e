"""Regions (front frame, mm) as painter paths on a face, cut to what is seen before they are drawn."""

from typing import TYPE_CHECKING

import shapely
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainterPath, QPolygonF

from app.canvas.faces_layout import Face
from core.geometry.affine import Affine, apply_to_region

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

NEAR_PX = 64
"""Beyond the seen area by so much regions are cut: the rasteriser's own numbers run out."""


def region_path(region: "BaseGeometry") -> QPainterPath:
    """Polygons as an area to fill (even-odd) and to stroke; lines as lines. In the region's own units."""
    path = QPainterPath()
    parts = shapely.get_parts(region)
    for part in shapely.get_rings(parts) if _has_area(region) else parts:
        points = [QPointF(x, y) for x, y in shapely.get_coordinates(part).tolist()]
        if points:
            path.addPolygon(QPolygonF(points))
    return path


def area_path(face: Face, region: "BaseGeometry") -> QPainterPath:
    """The region on a face, px, cut to what is seen; its cut edges lie outside."""
    return region_path(apply_to_region(to_px_matrix(face), shapely.clip_by_rect(region, *seen_box(face))))


def edge_path(face: Face, region: "BaseGeometry") -> QPainterPath:
    """The region's edges on a face, px, as lines that end outside what is seen."""
    edges = shapely.clip_by_rect(shapely.boundary(region), *seen_box(face))
    path = QPainterPath()
    for line in shapely.get_parts(edges):
        path.addPolygon(QPolygonF([face.to_px(x, y) for x, y in shapely.get_coordinates(line).tolist()]))
    return path


def to_px_matrix(face: Face) -> Affine:
    """Front frame to px of a face."""
    at, scale = face.to_px(0.0, 0.0), face.view.px_per_mm
    return (face.sign_x * scale, 0.0, 0.0, face.sign_y * scale, at.x(), at.y())


def seen_box(face: Face) -> tuple[float, float, float, float]:
    """The front box (x0, y0, x1, y1) that a face shows, and a little more."""
    near = QRectF(face.area).adjusted(-NEAR_PX, -NEAR_PX, NEAR_PX, NEAR_PX)
    (x0, y0), (x1, y1) = face.to_front(near.topLeft()), face.to_front(near.bottomRight())
    return (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))


def _has_area(region: "BaseGeometry") -> bool:
    return bool(shapely.get_dimensions(region) == 2)
