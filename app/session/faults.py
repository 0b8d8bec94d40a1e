"""Faults of the program: a report on disk, a rescue copy of the job, plain words; never a traceback on the screen."""

import platform
import sys
import threading
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from types import TracebackType
from typing import Any

from PySide6.QtCore import QObject, Signal, qVersion

from app.session.recovery import write_rescue_copy
from core.job.job import Job
from core.output.settings_document import program_version

REPORTED_PACKAGES = ("PySide6_Essentials", "numpy", "shapely", "ezdxf", "lxml", "svgelements", "pypdfium2", "uharfbuzz")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One unexpected exception: the report's text, where it was written, and the job's rescue copy (None: failed)."""

    report: str
    report_file: Path | None
    rescue_file: Path | None


class Faults(QObject):
    """Takes unexpected exceptions of any thread and tells of them on the GUI thread through ``happened``."""

    happened = Signal(object)

    def __init__(self, folder: Path, job: Callable[[], Job | None]) -> None:
        super().__init__()
        self._folder, self._job = folder, job
        self._before: tuple[Any, Any] | None = None

    def hook(self) -> None:
        """Have Python hand every exception that nobody caught to here."""
        self._before = (sys.excepthook, threading.excepthook)
        sys.excepthook = self._take
        threading.excepthook = lambda args: self._take(
            args.exc_type, args.exc_value or args.exc_type(), args.exc_traceback
        )

    def unhook(self) -> None:
        """Put the hooks back that were there before."""
        if self._before is not None:
            sys.excepthook, threading.excepthook = self._before
            self._before = None

    def report(self, error: BaseException) -> None:
        """Write the report and the rescue copy, and tell."""
        text = report_text(error)
        now = datetime.now()
        report_file: Path | None = self._folder / "reports" / f"fault-{now:%Y-%m-%d-%H%M%S-%f}.txt"
        assert report_file is not None
        try:
            report_file.parent.mkdir(parents=True, exist_ok=True)
            report_file.write_text(text, "utf-8")
        except OSError:
            report_file = None
        job = self._job()
        rescue = write_rescue_copy(job, self._folder / "rescue") if job is not None else None
        self.happened.emit(Fault(report=text, report_file=report_file, rescue_file=rescue))

    def _take(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            sys.__excepthook__(kind, error, trace)
            return
        self.report(error)


def report_text(error: BaseException) -> str:
    """What a developer needs: versions, and where it happened."""
    return f"{versions_text()}\n\n{''.join(traceback.format_exception(error))}"


def versions_text() -> str:
    """Versions of Tain, Python, Qt, the system and the libraries, one a line."""
    lines = [
        f"Tain {program_version()}",
        f"Python {platform.python_version()}",
        f"Qt {qVersion()}",
        f"{platform.system()} {platform.release()} {platform.machine()}",
    ]
    for package in REPORTED_PACKAGES:
        try:
            lines.append(f"{package} {version(package)}")
        except PackageNotFoundError:
            continue
    return "\n".join(lines)
