"""What went wrong, said on the command line."""

import sys

from core.encodable import encodable
from core.errors import TainError


def say_error(error: TainError) -> None:
    """The error as one line on stderr."""
    text = " ".join(str(error).split())
    if len(text) > 600:
        text = f"{text[:300]} … {text[-200:]}"
    # a name of bytes that are no UTF-8 can't be printed as it is
    print(f"tain: {encodable(text)}", file=sys.stderr)
