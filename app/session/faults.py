"""Faults of the program: a report on disk, a rescue copy of the work, plain words; never a traceback on the screen."""

import logging
import sys
import threading
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any

from PySide6.QtCore import QObject, Signal

from app.session.log import last_steps
from app.session.recovery import write_rescue_copy
from app.session.versions import versions_text
from app.words.private import without_home
from core.order.order import Order

AGAIN_AFTER_S = 5.0
"""A fault that comes again and again without so long a pause, as in painting, is told once."""

_log = logging.getLogger("tain.faults")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One unexpected exception: the report's text, where it was written, and the job's rescue copy (None: failed)."""

    report: str
    report_file: Path | None
    rescue_file: Path | None


class Faults(QObject):
    """Takes unexpected exceptions of any thread and tells of them on the GUI thread through ``happened``."""

    happened = Signal(object)

    def __init__(self, folder: Path, work: Callable[[], Order | None]) -> None:
        super().__init__()
        self._folder, self._work = folder, work
        self._before: tuple[Any, Any] | None = None
        self._last_at: dict[str, float] = {}

    def hook(self) -> None:
        """Have Python hand every exception that nobody caught to here."""
        self._before = (sys.excepthook, threading.excepthook)
        sys.excepthook = self.take
        threading.excepthook = lambda args: self.take(
            args.exc_type, args.exc_value or args.exc_type(), args.exc_traceback
        )

    def unhook(self) -> None:
        """Put the hooks back that were there before."""
        if self._before is not None:
            sys.excepthook, threading.excepthook = self._before
            self._before = None

    def report(self, error: BaseException) -> None:
        """Write the report with the rescue copy beside it, and tell."""
        trace = without_home("".join(traceback.format_exception(error)))
        now_s, before_s = time.monotonic(), self._last_at.get(trace)
        self._last_at[trace] = now_s
        if before_s is not None and now_s - before_s < AGAIN_AFTER_S:
            return
        steps = last_steps()
        _log.error("A fault: %s", trace)
        text = "\n".join((versions_text(), "", "The last steps:", *steps, "", trace))
        stem = f"fault-{datetime.now():%Y-%m-%d-%H%M%S-%f}"
        report_file: Path | None = self._folder / "reports" / f"{stem}.txt"
        assert report_file is not None
        try:
            report_file.parent.mkdir(parents=True, exist_ok=True)
            report_file.write_text(text, "utf-8")
        except OSError:
            report_file = None
        work = self._work()
        rescue = write_rescue_copy(work, self._folder / "reports" / f"{stem}.tain") if work is not None else None
        self.happened.emit(Fault(report=text, report_file=report_file, rescue_file=rescue))

    def take(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        """An exception that nobody caught."""
        if issubclass(kind, KeyboardInterrupt):
            sys.__excepthook__(kind, error, trace)
            return
        self.report(error)
