"""Paths moved together come out as each by itself."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from core.geometry.many_paths import joined_through
from core.geometry.path import PathBuilder, ellipse, joined, polyline

numbers = st.floats(-1e3, 1e3, allow_subnormal=False)


def _mixed():
    pen = PathBuilder()
    pen.move_to(1.0, 2.0)
    pen.line_to(3.0, 4.0)
    pen.cubic_to(5.0, 6.0, 7.0, 9.0, 2.0, 1.0)
    pen.arc(0.0, 1.0, 2.0, 0.5, -0.5, 2.0, 0.0, 2.0)
    pen.close()
    pen.move_to(7.0, 7.0)
    pen.line_to(8.0, 8.0)
    return pen.build()


PATHS = [_mixed(), ellipse((1.0, 2.0), 3.0, 4.0), polyline(np.array([[0.0, 0.0], [5.0, 1.0], [2.0, 7.0]]), closed=True)]


@settings(max_examples=30)
@given(st.lists(st.tuples(st.integers(0, 2), st.tuples(*[numbers] * 6)), min_size=1, max_size=5))
def test_each_path_goes_through_its_own_matrix(chosen) -> None:
    paths, matrices = [PATHS[i] for i, _ in chosen], [matrix for _, matrix in chosen]
    together = joined_through(paths, matrices)
    alone = joined([path.transformed(matrix) for path, matrix in zip(paths, matrices, strict=True)])
    np.testing.assert_allclose(together.segments, alone.segments, rtol=1e-12, atol=1e-9)
    for name in ("kinds", "starts", "closed"):
        assert np.array_equal(getattr(together, name), getattr(alone, name))
