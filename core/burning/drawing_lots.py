"""What of all is expected, where only some were drawn by lot and worked out."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_LEAST_DRAWN = 10
"""From so many that were drawn for each thing that areas go with on, that is taken into account."""


def expected_by(
    goes_with: Floats, areas: Floats, weight: Floats, drawn: NDArray[np.bool_], known: Floats | None = None
) -> Floats:
    """What areas (a, n), of which those of a weight (n,) above zero were worked out, are expected to be, (a, n).

    goes_with, (k, n): what they go with, in proportion. drawn, (n,): what was up for the draw. known, (a, n): what of
    them is known without; None for nothing. The fit by which the sum of all is then told makes it hardly biased,
    whatever the areas go with (regression estimator: C.-E. Särndal, B. Swensson, J. Wretman, Model Assisted Survey
    Sampling, 1992, ch. 6).
    """
    known = np.zeros(areas.shape) if known is None else known
    some = np.flatnonzero(drawn & (weight > 0))
    goes_with = goes_with[(goes_with[:, some] != 0).any(1)]
    if not len(goes_with) or len(some) < _LEAST_DRAWN * len(goes_with):
        return known
    root = np.sqrt(weight[some])
    goes_with = goes_with / np.abs(goes_with[:, some]).max(1, keepdims=True)
    seen, rest = goes_with[:, some] * root, (areas - known)[:, some] * root
    share = np.linalg.lstsq(seen @ seen.T, seen @ rest.T, rcond=1e-10)[0]  # as few lines as there are things known
    result: Floats = known + share.T @ goes_with
    return result
