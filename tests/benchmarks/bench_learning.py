"""Simulation-based calibration at full size: a thousand scraps for each kind and number of readings."""

import time
from collections.abc import Iterator

import numpy as np

from tests.core.burning.calibrating import calibrated

SIZES = (2, 3, 5, 12)
SIMULATIONS = 1000


def run(kinds=("widths", "looks"), sizes=SIZES, simulations=SIMULATIONS) -> Iterator[str]:
    """Coverage of 95 % intervals and the evenness of ranks, one line a kind and size; figures as in ``LEARNED``."""
    for kind in kinds:
        for readings in sizes:
            start = time.process_time()
            found = calibrated(kind, readings, simulations)
            took_ms = 1e3 * (time.process_time() - start) / simulations
            covered = " ".join(f"{share:.3f}" for share in found.covered)
            even = " ".join(f"{p:.3f}" for p in found.uniform())
            least, middle = np.percentile(found.effective, [1, 50])
            yield (
                f"learning from {readings:2d} {kind}: 95 % intervals hold {covered}; ranks uniform p = {even}; "
                f"draws worth {least:.0f} (1 %), {middle:.0f} (median); {took_ms:.0f} ms each"
            )
