"""Work done in a process of its own, with bounds on time and memory: for inputs that may hang or swell."""

import multiprocessing
import resource
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

_PROCESSES = multiprocessing.get_context("forkserver")
_PROCESSES.set_forkserver_preload(["core.artwork.dxf", "core.artwork.pdf.reading", "core.artwork.reading"])


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What the work returned, or the maker's error it raised; peak_mib of its process."""

    result: Any = None
    error: str = ""
    peak_mib: float = 0.0


def bounded(work: Callable[..., Any], *args: Any, time_s: float = 10.0, memory_mib: float = 1024.0) -> Outcome:
    """Run ``work(*args)`` apart. Fails when it takes longer, needs more, or dies of anything but a TainError."""
    here, there = _PROCESSES.Pipe(duplex=False)
    process = _PROCESSES.Process(target=_run, args=(there, work, args), daemon=True)
    process.start()
    there.close()
    try:
        if not here.poll(time_s + _START_S):
            raise AssertionError(f"not done within {time_s:g} s")
        outcome, took_s = here.recv()
    except EOFError:
        process.join()
        raise AssertionError(f"the process died with status {process.exitcode}") from None
    finally:
        process.kill()
        process.join()
        here.close()
    if isinstance(outcome, str):
        raise AssertionError(outcome)
    assert took_s <= time_s, f"took {took_s:.1f} s of processor time"
    assert outcome.peak_mib <= memory_mib, f"needed {outcome.peak_mib:.0f} MiB"
    return outcome


_START_S = 50.0
"""For a busy machine: the work's own processor time is what is bounded."""


def _run(pipe: Any, work: Callable[..., Any], args: tuple[Any, ...]) -> None:
    from core.errors import TainError

    resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))  # an end to runaways before the machine suffers
    outcome: Outcome | str
    try:
        outcome = Outcome(result=work(*args))
    except TainError as error:
        outcome = Outcome(error=str(error) or "no words")
    except BaseException as error:  # noqa: BLE001  # it is told to the test
        outcome = f"{type(error).__name__}: {error}"
    usage = resource.getrusage(resource.RUSAGE_SELF)
    if isinstance(outcome, Outcome):
        outcome = Outcome(result=outcome.result, error=outcome.error, peak_mib=usage.ru_maxrss / 1024)
    pipe.send((outcome, usage.ru_utime + usage.ru_stime))
