"""``tain``: the window, or one step of the work without one.

Exit codes: 0 done; 1 the job has a problem that stops it; 2 wrong use or unreadable input.
"""

import argparse
import importlib
import importlib.util
import io
import os
import re
import sys
from collections.abc import Sequence
from pathlib import Path

from app.words.error_words import say_error
from core.errors import TainError, UnreadableError

COMMANDS = {
    "read": "app.commands.read",
    "prepare": "app.commands.prepare",
    "show": "app.commands.show",
    "reread": "app.commands.reread",
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
    "day": "app.commands.day",
    "runsheet": "app.commands.runsheet",
    "desktop": "app.commands.desktop",
    "pieces": "app.commands.pieces",
    "proof": "app.commands.proof",
    "offer": "app.commands.offer",
    "letterhead": "app.commands.letterhead",
    "trouble": "app.commands.trouble",
    "trial": "app.commands.trial",
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command. Errors for the maker become one line on stderr; never a traceback for them."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a file's name may hold what the terminal has no letter for
    try:
        if words and words[0] in COMMANDS:
            return _run_command(words[0], words[1:])
        return _run_window(words)
    except TainError as error:
        say_error(error)
        return error.exit_code
    except KeyboardInterrupt:
        return 130
    except RecursionError:
        say_error(UnreadableError("What the file holds is nested too deeply to be worked out."))
        return 2
    except BrokenPipeError:
        # the reader of our output went away; nothing is left to say, and nothing may be said at exit either
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        # what no reader or writer put into words: a name too long, a folder that may not be looked into
        about = f"{error.filename}: " if error.filename else ""
        say_error(UnreadableError(f"{about}{error.strerror or error}.", hint="Check the name and the folder."))
        return 2


class _Parser(argparse.ArgumentParser):
    """A parser whose complaint is one line."""

    def error(self, message: str):  # type: ignore[no-untyped-def]
        self.exit(
            2, f"tain: {message} (tain {' '.join(self.prog.split()[1:])} --help)\n".replace("tain  --", "tain --")
        )


def _run_command(name: str, words: Sequence[str]) -> int:
    parser = parser_of(name)
    for before, word in zip(("", *words), words, strict=False):
        if not word.strip() or re.fullmatch(r"--[a-z-]+=\s*", word):
            what = before if before.startswith("-") else word.rstrip("= ") or "A name"
            raise UnreadableError(f"{what} is empty.", hint="Say what is meant, or leave it out.")
        if "\0" in word:
            raise UnreadableError("A word holds a zero byte, which no name has.")
    module = importlib.import_module(COMMANDS[name])
    code: int = module.run(parser.parse_args(_values_joined(words)))
    return code


def parser_of(name: str) -> argparse.ArgumentParser:
    """The parser of a command, its examples at the foot of its help."""
    module = importlib.import_module(COMMANDS[name])
    parser = _Parser(
        prog=f"tain {name}",
        description=module.SUMMARY,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    module.add_arguments(parser)
    examples = "\n".join(("examples:", *(f"  {example}" for example in getattr(module, "EXAMPLES", ()))))
    parser.epilog = "\n\n".join(filter(None, (parser.epilog, examples)))
    return parser


def summary_of(name: str) -> str:
    """What a command is for, read from its file: running all of them for their one line each would take seconds."""
    path = Path(__file__).with_name("commands") / f"{COMMANDS[name].rpartition('.')[2]}.py"
    if path.exists():
        with path.open(encoding="utf-8") as lines:
            for line in lines:
                if line.startswith('SUMMARY = "') and line.rstrip().endswith('"'):
                    return line.rstrip()[len('SUMMARY = "') : -1]
    return str(importlib.import_module(COMMANDS[name]).SUMMARY)


class _WindowHelp(argparse.Action):
    """``tain --help``: a line for each command, put together only when it is asked for."""

    def __init__(self, option_strings: Sequence[str], dest: str) -> None:
        super().__init__(option_strings, dest, nargs=0, help="show this and stop")

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        """argparse calls it when it meets the option."""
        lines = [f"  {name:<10} {summary_of(name)}" for name in COMMANDS]
        parser.epilog = "\n".join(("commands, each with a --help of its own:", *lines))
        parser.print_help()
        parser.exit()


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
        description="Opens the window, with a file if one is named. Without a window: tain COMMAND ...",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        add_help=False,
    )
    parser.add_argument("-h", "--help", action=_WindowHelp)
    parser.add_argument("file", nargs="?", help="artwork (SVG, DXF, PDF) or a job (.tain)")
    parser.add_argument("--version", action="store_true", help="say the version and stop")
    parser.add_argument("--log-file", action="store_true", help="say where the window's log is and stop")
    options = parser.parse_args(words)
    if options.log_file:
        from core.shop_book.store import book_path

        print(book_path().with_name("tain.log"))
        return 0
    if options.version:
        from core.version import VERSION

        print(f"Tain {VERSION}")
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
