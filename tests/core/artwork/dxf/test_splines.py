"""Splines to cubics, against SciPy's B-splines (Dierckx's FITPACK evaluation)."""

import math

import numpy as np
import pytest
import scipy.interpolate
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.artwork.dxf.splines import BSpline, fault, spline_rows
from core.geometry.path import CUBIC, LINE

coordinates = st.integers(-500, 500).map(lambda tenths: tenths / 10)


@st.composite
def bsplines(draw, highest=3) -> BSpline:
    degree = draw(st.integers(1, highest))
    count = degree + 1 + draw(st.integers(0, 8))
    control = np.array(draw(st.lists(st.tuples(coordinates, coordinates), min_size=count, max_size=count)))
    steps = draw(st.lists(st.sampled_from([0.0, 0.5, 1.0, 3.0]), min_size=count - degree, max_size=count - degree))
    inner = np.cumsum([0.0, *steps])
    if inner[-1] == 0.0:
        inner[-1] = 1.0
    if draw(st.booleans()):  # clamped at its ends, as most files are
        knots = np.concatenate([[inner[0]] * degree, inner, [inner[-1]] * degree])
    else:
        knots = np.concatenate([inner[0] - np.arange(degree, 0, -1), inner, inner[-1] + np.arange(1, degree + 1)])
    return BSpline(degree=degree, control=control, knots=knots)


def _evaluated(spline: BSpline, share: np.ndarray) -> np.ndarray:
    """The curve at shares of its span, by SciPy."""
    start, end = spline.knots[spline.degree], spline.knots[len(spline.control)]
    t = start + (end - start) * share
    if spline.weights is None:
        return scipy.interpolate.BSpline(spline.knots, spline.control, spline.degree)(t)
    lifted = np.column_stack([spline.control * spline.weights[:, None], spline.weights])
    points = scipy.interpolate.BSpline(spline.knots, lifted, spline.degree)(t)
    return points[:, :2] / points[:, 2:]


def _along(kind: int, rows: np.ndarray, count: int = 33) -> np.ndarray:
    """Points of the rows, dense."""
    t = np.linspace(0, 1, count)[None, :, None]
    p = rows.reshape(-1, 4, 2)[:, :, None]
    if kind == LINE:
        points = (1 - t) * p[:, 0] + t * p[:, 1]
    else:
        s = 1 - t
        points = s**3 * p[:, 0] + 3 * s * s * t * p[:, 1] + 3 * s * t * t * p[:, 2] + t**3 * p[:, 3]
    return points.reshape(-1, 2)


def _furthest(points: np.ndarray, line: np.ndarray) -> float:
    # nearly coinciding points would divide by nothing in GEOS
    kept = np.append(True, np.hypot(*np.diff(line, axis=0).T) > 1e-9)
    if kept.sum() < 2:
        return float(np.hypot(*(points - line[0]).T).max())
    return float(shapely.distance(shapely.points(points), shapely.LineString(line[kept])).max())


@given(st.lists(bsplines(), min_size=1, max_size=4))
def test_plain_splines_up_to_degree_three_are_exact(splines) -> None:
    for spline, result in zip(splines, spline_rows(splines, 1e-3), strict=True):
        assert fault(spline) == ""
        assert result.kind == (LINE if spline.degree == 1 else CUBIC)
        breaks = np.unique(spline.knots[spline.degree : len(spline.control) + 1])
        assert len(result.rows) == len(breaks) - 1
        share = np.linspace(0, 1, 9)
        for (a, b), row in zip(np.column_stack([breaks[:-1], breaks[1:]]), result.rows, strict=True):
            inside = a + (b - a) * np.clip(share, 1e-9, 1 - 1e-9)  # a double knot may jump at its very place
            theirs = scipy.interpolate.BSpline(spline.knots, spline.control, spline.degree)(inside)
            ours = _along(result.kind, row[None], 9)
            assert np.abs(theirs - ours).max() < 1e-5


@given(bsplines(highest=6), st.data())
def test_weights_and_high_degrees_stay_within_the_tolerance(spline, data) -> None:
    count = len(spline.control)
    weights = np.array(data.draw(st.lists(st.sampled_from([0.3, 0.7, 1.0, 2.5]), min_size=count, max_size=count)))
    knots = spline.knots
    inner = knots[(knots > knots[spline.degree]) & (knots < knots[count])]
    if inner.size and np.unique(inner, return_counts=True)[1].max() > spline.degree:
        return  # a curve in two pieces
    spline = BSpline(degree=spline.degree, control=spline.control, knots=knots, weights=weights)
    (result,) = spline_rows([spline], 1e-3)
    true = _evaluated(spline, np.linspace(1e-9, 1 - 1e-9, 300))
    assert _furthest(true, _along(result.kind, result.rows, 129)) < 2e-3
    ends = result.rows[:-1, 2:4] if result.kind == LINE else result.rows[:-1, 6:8]
    assert np.abs(result.rows[1:, :2] - ends).max(initial=0) < 1e-9


def test_a_quarter_circle_of_weights() -> None:
    """The rational quadratic with weights 1, cos 45°, 1 is a quarter circle (L. Piegl, W. Tiller, The NURBS Book)."""
    spline = BSpline(
        degree=2,
        control=np.array([[1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]) * 50,
        knots=np.array([0.0, 0, 0, 1, 1, 1]),
        weights=np.array([1.0, math.sqrt(0.5), 1.0]),
    )
    (result,) = spline_rows([spline], 1e-3)
    assert np.hypot(*_along(result.kind, result.rows).T) == pytest.approx(50, abs=1e-3)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"degree": 0}, "degree"),
        ({"degree": 30}, "degree"),
        ({"degree": 4}, "control points"),
        ({"knots": np.arange(7.0)}, "knots"),
        ({"knots": np.array([0, 0, 0, 0, 1, 1, 0.5, 1.0])}, "fall"),
        ({"knots": np.ones(8)}, "span nothing"),
        ({"knots": np.array([0, 0, 0, 0, np.nan, 1, 1, 1])}, "finite"),
        ({"control": np.full((4, 2), np.inf)}, "finite"),
        ({"weights": np.array([1.0, 0.0, 1.0, 1.0])}, "weights"),
        ({"weights": np.array([1.0, 1.0])}, "weights"),
    ],
)
def test_what_is_wrong_is_said(changes, words) -> None:
    good = {
        "degree": 3,
        "control": np.array([[0, 0], [1, 2], [3, 2], [4.0, 0]]),
        "knots": np.array([0.0] * 4 + [1] * 4),
    }
    assert fault(BSpline(**good)) == ""
    assert words in fault(BSpline(**(good | changes)))
