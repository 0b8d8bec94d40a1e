"""How long work of ours takes, measured so that a busy machine does not count."""

import time
from collections.abc import Callable


def quickest_s(work: Callable[[], object], *, within_s: float, most: int = 3) -> float:
    """Processor time of this thread, s, of the quickest of up to ``most`` runs; the first one within is enough.

    Caches that others empty and a core that is shared make now this and now that run long; slow work is so each time.
    """
    quickest = float("inf")
    for _ in range(most):
        began_s = time.thread_time()
        work()
        quickest = min(quickest, time.thread_time() - began_s)
        if quickest <= within_s:
            break
    return quickest
