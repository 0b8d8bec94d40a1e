"""What went wrong, said on the command line."""

import sys

from core.errors import TainError


def say_error(error: TainError) -> None:
    """The error as one line on stderr."""
    print(f"tain: {' '.join(str(error).split())}", file=sys.stderr)
