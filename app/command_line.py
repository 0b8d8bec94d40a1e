"""``tain``: the window, or one step of the work without one.

Exit codes: 0 done; 1 the job has a problem that stops it; 2 wrong use or unreadable input.
"""

import argparse
import importlib
import importlib.util
import os
import re
import sys
from collections.abc import Sequence
from pathlib import Path

from core.errors import TainError

COMMANDS = {
    "read": "app.commands.read",
    "prepare": "app.commands.prepare",
    "show": "app.commands.show",
    "advise": "app.commands.advise",
    "coupon": "app.commands.coupon",
    "book": "app.commands.book",
    "rack": "app.commands.rack",
    "place": "app.commands.place",
    "stop": "app.commands.stop",
    "backer": "app.commands.backer",
    "opening": "app.commands.opening",
    "cost": "app.commands.cost",
    "rates": "app.commands.rates",
    "paint": "app.commands.paint",
    "runsheet": "app.commands.runsheet",
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command. Errors for the maker become one line on stderr; never a traceback for them."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    try:
        if words and words[0] in COMMANDS:
            return _run_command(words[0], words[1:])
        return _run_window(words)
    except TainError as error:
        say_error(error)
        return error.exit_code
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        # the reader of our output went away; nothing is left to say, and nothing may be said at exit either
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def say_error(error: TainError) -> None:
    """The error as one line on stderr."""
    print(f"tain: {' '.join(str(error).split())}", file=sys.stderr)


class _Parser(argparse.ArgumentParser):
    """A parser whose complaint is one line."""

    def error(self, message: str):  # type: ignore[no-untyped-def]
        self.exit(
            2, f"tain: {message} (tain {' '.join(self.prog.split()[1:])} --help)\n".replace("tain  --", "tain --")
        )


def _run_command(name: str, words: Sequence[str]) -> int:
    module = importlib.import_module(COMMANDS[name])
    parser = _Parser(prog=f"tain {name}", description=module.SUMMARY)
    module.add_arguments(parser)
    code: int = module.run(parser.parse_args(_values_joined(words)))
    return code


def _values_joined(words: Sequence[str]) -> list[str]:
    """``--place -10,5`` as ``--place=-10,5``: argparse would take the place for an option."""
    joined: list[str] = []
    for word in words:
        if joined and re.fullmatch(r"--[a-z-]+", joined[-1]) and re.match(r"-\.?\d", word):
            joined[-1] += f"={word}"
        else:
            joined.append(word)
    return joined


def _run_window(words: Sequence[str]) -> int:
    known = ", ".join(name for name, module in COMMANDS.items() if importlib.util.find_spec(module))
    parser = _Parser(
        prog="tain",
        description="Opens the window, with a file if one is named. Without a window: tain COMMAND --help.",
        epilog=f"Commands: {known}.",
    )
    parser.add_argument("file", nargs="?", help="artwork (SVG, DXF, PDF) or a job (.tain)")
    parser.add_argument("--version", action="store_true", help="say the version and stop")
    options = parser.parse_args(words)
    if options.version:
        from core.output.settings_document import program_version

        print(f"Tain {program_version()}")
        return 0
    if not _has_display():
        print(
            "tain: there is no display for the window; without one, run: tain prepare ARTWORK -o OUT.svg",
            file=sys.stderr,
        )
        return 2
    if options.file is not None and not Path(options.file).exists():
        print(f"tain: there is no file {options.file} (commands: {known}).", file=sys.stderr)
        return 2
    try:
        from app.window.start import run_window
    except ImportError as error:
        print(
            f"tain: the window can't start ({error}); without one, run: tain prepare ARTWORK -o OUT.svg",
            file=sys.stderr,
        )
        return 2
    return run_window(options.file)


def _has_display() -> bool:
    if sys.platform in ("win32", "darwin") or os.environ.get("QT_QPA_PLATFORM"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
