"""Splines as DXF stores them: by control points, or by points that the curve goes through."""

from collections.abc import Sequence
from typing import Any

import ezdxf  # noqa: F401 - the whole before its parts (tests/test_libraries_whole_first)
import numpy as np
from ezdxf.entities.boundary_paths import SplineEdge
from ezdxf.math import fit_points_to_cad_cv

from core.artwork.dxf.splines import BSpline, fault


def spline_of(entity: Any) -> BSpline:
    """The curve of a SPLINE. Raises ValueError when it has no points."""
    if entity.control_point_count():
        control = np.array(entity.control_points.values, float).reshape(-1, 3)[:, :2]
        weights = np.array(entity.weights, float) if len(entity.weights) else None
        return BSpline(degree=entity.dxf.degree, control=control, knots=np.array(entity.knots, float), weights=weights)
    tangents = None
    if entity.dxf.hasattr("start_tangent") and entity.dxf.hasattr("end_tangent"):
        tangents = [entity.dxf.start_tangent, entity.dxf.end_tangent]
    return _through(entity.fit_points, tangents)


def spline_of_edge(edge: SplineEdge) -> BSpline:
    """The curve of a hatch's spline edge. Raises ValueError when it is not sound."""
    if edge.control_points:
        spline = BSpline(
            degree=edge.degree,
            control=np.array([(p.x, p.y) for p in edge.control_points]),
            knots=np.array(edge.knot_values, float),
            weights=np.array(edge.weights, float) if edge.weights else None,
        )
    else:
        both = edge.start_tangent is not None and edge.end_tangent is not None
        spline = _through(edge.fit_points, [edge.start_tangent, edge.end_tangent] if both else None)
    wrong = fault(spline)
    if wrong:
        raise ValueError(f"a spline edge: {wrong}")
    return spline


def _through(points: Sequence[Any], tangents: list[Any] | None) -> BSpline:
    if len(points) < 2:
        raise ValueError("it has no points")
    curve = fit_points_to_cad_cv(points, tangents=tangents)
    return BSpline(
        degree=curve.degree,
        control=np.array([(p.x, p.y) for p in curve.control_points]),
        knots=np.array(curve.knots(), float),
    )
