"""Errors meant for the maker: what went wrong, where, and what to do next.

Anything else that is raised is a fault of the program itself.
"""


class TainError(Exception):
    """Root of the errors that are shown as they are.

    ``message`` says what and where in one sentence; ``hint`` says what to do next (may be empty).
    """

    exit_code = 2

    def __init__(self, message: str, *, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message} {self.hint}".strip()


class UnreadableError(TainError):
    """A file or a value that can't be read or makes no sense."""


class UnitsUnknownError(UnreadableError):
    """A file that does not say how large it is; the maker has to."""


class JobError(TainError):
    """The job itself has a problem that stops it."""

    exit_code = 1


class WriteError(TainError):
    """A file could not be written; what was there before is still there."""


class Cancelled(Exception):  # noqa: N818  # not an error
    """Raised by a progress callback to stop a long derivation. Not an error: nothing is shown."""
