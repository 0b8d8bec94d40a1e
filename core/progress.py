"""Progress of long derivations: a callback that may also stop them."""

from collections.abc import Callable

Progress = Callable[[float, str], None]
"""Called with (share done 0..1, what is being done). It may raise ``core.errors.Cancelled``."""


def silent(share: float, doing: str) -> None:
    """The progress callback of one who does not look."""


def part(progress: Progress, start: float, end: float) -> Progress:
    """A callback that maps its own 0..1 onto ``start``..``end`` of ``progress``."""

    def report(share: float, doing: str) -> None:
        progress(start + (end - start) * share, doing)

    return report
