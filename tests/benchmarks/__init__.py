"""Benchmarks: ``python -m tests.benchmarks [name...]`` prints one line a figure.

Each module ``bench_NAME.py`` here has ``run() -> Iterable[Line]``. A figure is a time beside that of a reference
measured in the same run, so that ratios mean the same on every machine; where there is a bound, it passes or misses.
``--write`` keeps what was printed in RESULTS.md.
"""

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

Result = TypeVar("Result")


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One figure. time_s: ours. reference_s: the reference's, None where there is none. peak_mib: of the process.

    at_least: how many times faster than the reference it must be (0.5: it may take twice as long). most_mib: the most
    memory that it may take.
    """

    name: str
    time_s: float
    reference: str = ""
    reference_s: float | None = None
    peak_mib: float | None = None
    note: str = ""
    at_least: float | None = None
    most_mib: float | None = None

    def verdict(self) -> str:
        """The bounds, each with whether it is kept; empty where there is none."""
        words = []
        if self.at_least is not None and self.reference_s is not None:
            kept = self.reference_s >= self.at_least * self.time_s
            words.append(f"{'pass' if kept else 'MISS'} (bound {self.at_least:.2f}x)")
        if self.most_mib is not None and self.peak_mib is not None:
            words.append(f"{'pass' if self.peak_mib <= self.most_mib else 'MISS'} (bound {self.most_mib:.0f} MiB)")
        return ", ".join(words)

    def __str__(self) -> str:
        ours = f"{self.name:<58} {_time_text(self.time_s):>10}"
        theirs, ratio = f"{'-':>10}", f"{'-':>8}"
        if self.reference_s is not None:
            theirs = f"{_time_text(self.reference_s):>10}"
            ratio = f"{self.reference_s / self.time_s:>7.2f}x"
        peak = "-" if self.peak_mib is None else f"{self.peak_mib:.0f} MiB"
        words = "; ".join(text for text in (self.verdict(), self.reference, self.note) if text)
        return f"{ours} {theirs} {ratio} {peak:>10}  {words}".rstrip()


HEADER = f"{'figure':<58} {'ours':>10} {'reference':>10} {'ratio':>8} {'peak':>10}  bound; reference; note"


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing(Generic[Result]):
    """What a piece of work gave, how long it took at best, and the process's peak memory meanwhile."""

    result: Result
    time_s: float
    peak_mib: float | None


def timed(
    work: Callable[[], Result], *, repeats: int = 1, clock: Callable[[], float] = time.perf_counter
) -> Timing[Result]:
    """Run the work, several times if wanted; the shortest time counts. ``time.process_time`` suits a busy machine."""
    _reset_peak()
    best_s = float("inf")
    for _ in range(repeats):
        start = clock()
        result = work()
        best_s = min(best_s, clock() - start)
    return Timing(result=result, time_s=best_s, peak_mib=_peak_mib())


def _time_text(time_s: float) -> str:
    if time_s >= 1:
        return f"{time_s:.2f} s"
    return f"{time_s * 1e3:.2f} ms" if time_s >= 1e-4 else f"{time_s * 1e6:.2f} us"


def _reset_peak() -> None:
    """Start the kernel's high-water mark of resident memory anew (Linux; elsewhere it counts from process start)."""
    try:
        Path("/proc/self/clear_refs").write_text("5")
    except OSError:
        return


def _peak_mib() -> float | None:
    try:
        status = Path("/proc/self/status").read_text()
        return int(status.split("VmHWM:")[1].split()[0]) / 1024
    except (OSError, IndexError):
        pass
    try:
        import resource
    except ImportError:
        return None
    unit = 2**20 if sys.platform == "darwin" else 2**10
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit
