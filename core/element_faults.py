"""Faults of the program met while one element of a file is read.

A reader guards each element, so that a strange one never costs the file. But a wrong attribute, key, type or index is a
fault of the program and not of the customer's file: where people look for such faults (``TAIN_STRICT`` set, as tests
and fuzzing do) it is raised again, elsewhere it is logged with its traceback, and the maker hears of the element only.
"""

import logging
import os
import traceback
from pathlib import Path

STRICT_VARIABLE = "TAIN_STRICT"

_CORE = str(Path(__file__).parent.resolve())
_OF_THE_PROGRAM = (AttributeError, LookupError, TypeError)
_log = logging.getLogger("tain.reading")


def note_fault(fault: BaseException, what: str) -> None:
    """Take note of what a guard around one element caught; ``what`` names the element.

    What a library raises from inside about the content it was given is the file's fault and is only logged. Raises
    the fault itself where faults of the program are looked for.
    """
    if not isinstance(fault, _OF_THE_PROGRAM) or not _raised_here(fault):
        _log.info("%s could not be read: %s", what, fault)
        return
    if os.environ.get(STRICT_VARIABLE):
        raise fault
    _log.error("%s could not be read", what, exc_info=fault)


def _raised_here(fault: BaseException) -> bool:
    """Whether it was raised by a line of this program, not within a library."""
    frames = traceback.extract_tb(fault.__traceback__)
    return bool(frames) and frames[-1].filename.startswith(_CORE)
