"""A plan worked out in a process of its own, where nothing is remembered from before."""

import math
import multiprocessing
from concurrent.futures import ProcessPoolExecutor
from typing import Any

from core.errors import TainError
from core.job.job_file import job_from_bytes
from core.job.prepare import prepare
from core.job.report import report_data

WITHIN_S = 120.0
SAME = 1e-6
"""Figures that were moved along rather than worked out anew may differ in their last digits."""


class FreshPlans:
    """Works job files' bytes out, each in a process that knows nothing yet."""

    def __init__(self) -> None:
        context = multiprocessing.get_context("forkserver")
        context.set_forkserver_preload([__name__])
        self._pool = ProcessPoolExecutor(max_workers=1, mp_context=context, max_tasks_per_child=1)

    def report(self, job_file: bytes) -> Any:
        """The report of the plan, or the sentence that says why there is none."""
        return self._pool.submit(fresh_report, job_file).result(timeout=WITHIN_S)

    def close(self) -> None:
        """End the processes."""
        self._pool.shutdown(wait=True, cancel_futures=True)


def fresh_report(job_file: bytes) -> Any:
    """What ``FreshPlans`` runs."""
    try:
        return report_data(prepare(job_from_bytes(job_file, name="a.tain")))
    except TainError as error:
        return error.message


def differences(one: Any, other: Any, at: str = "report") -> list[str]:
    """Where two reports say different things."""
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        return [line for key in one for line in differences(one[key], other[key], f"{at}.{key}")]
    if isinstance(one, list | tuple) and isinstance(other, list | tuple) and len(one) == len(other):
        pairs = enumerate(zip(one, other, strict=True))
        return [line for i, (a, b) in pairs for line in differences(a, b, f"{at}[{i}]")]
    if isinstance(one, float) and isinstance(other, float) and math.isclose(one, other, rel_tol=SAME, abs_tol=SAME):
        return []
    return [] if one == other else [f"{at}: {one!r} here, {other!r} when worked out anew"]
