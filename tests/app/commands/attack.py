"""Calls of the command line with values that make no sense: every option of every command, in process.

Each must end with 0, 1 or 2; with 2, one line on the error stream says why. ``python -m tests.app.commands.attack``
makes all of them, the test a share.
"""

import argparse
import contextlib
import functools
import io
import itertools
import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from PIL import Image

from app import command_line
from app.command_line import COMMANDS, main, parser_of

ART = b"""<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
<path d="M8 8h12v8h-12z"/><path d="M2 2h36v26h-36z" fill="none" stroke="#d00" stroke-width=".1"/></svg>"""
EMPTY = b'<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm"/>'
VALUES = (
    "", " ", "nan", "inf", "-inf", "1e308", "-1e308", "1e-308", "5e-324", "0", "-1", "1e9", "9" * 400, "abc", "½",
    "1,5", "1/0", "\udc80", "a\x00b", "x" * 300, "../../..", "=", "<b>", "*", "1:99", "%s%n", "0x10", "10", "１２", "-",
    "1e400", "pipe", "nowhere", ".", "/dev/zero", "/proc/kmsg",
)  # fmt: skip
LONGEST_S = 30
TRIAL = "trial.json"
"""Stands for the document of a trial that was planned."""
BASE: dict[str, tuple[tuple[str, ...], ...]] = {
    "read": (("art.svg",),),
    "prepare": (
        ("art.svg", "-o", "OUT.svg"), ("dots.png", "-o", "OUT.svg", "--width-mm", "9", "--trace", "50%"),
        ("dots.png", "-o", "OUT.tain", "--width-mm", "9", "--screen", "dots", "--ruling", "40"),
    ),
    "show": (("bed.svg",),),
    "reread": (("job.tain", "art.svg", "-o", "OUT.tain"),),
    "advise": (("art.svg",),),
    "coupon": (("cut-ladder", "-o", "OUT.tain"),),
    "book": (
        ("list",), ("search", "acrylic"), ("show", "machine", "CO2 flatbed"),
        ("set", "machine", "CO2 flatbed", "spot_mm", "0.1"), ("done", "job.tain"),
        ("compare", "stock", "acrylic 2", "acrylic 3"), ("export", "OUT.json"), ("import", "book.json"),
        ("read", "ABCDE"), ("history", "machine", "CO2 flatbed"), ("keep", "fine", "job.tain", "Fill"),
        ("remove", "stock", "acrylic 2"), ("revert", "stock/none", "2026-01-01T00:00:00"), ("calibrate", "CO2 flatbed"),
    ),
    "rack": (
        ("list",), ("add", "P9", "--size", "300x200x3", "--stock", "acrylic 3"), ("done", "job.tain", "--piece", "P1"),
        ("flaw", "P1", "point", "5,5"), ("show", "P1"), ("undo", "P1"), ("remove", "P2"),
        ("reserve", "P1", "job.tain"), ("give-back", "P1"),
    ),
    "place": (("job.tain", "--piece", "P1"),),
    "stop": (("corner", "job.tain", "-o", "OUT.svg"), ("nest", "job.tain", "-o", "OUT.svg")),
    "backer": (("job.tain", "-o", "OUT.svg"),),
    "opening": (("job.tain", "-o", "OUT.svg"),),
    "cost": (("job.tain",), ("empty.svg",)),
    "rates": ((),),
    "paint": (("job.tain",),),
    "day": (("job.tain", "art.svg"),),
    "pieces": (("plate.svg", "-o", "OUT.d", "--list", "names.csv", "--sheet", "60x50x3"),),
    "proof": (("job.tain", "-o", "OUT.pdf"),),
    "offer": (("job.tain", "-o", "OUT.pdf"),),
    "letterhead": ((),),
    "desktop": (("add",), ("remove",)),
    "trouble": (
        ("job.tain", "--seen", "cracked"), ("--list", "cracks"),
        ("job.tain", "--seen", "scan-lines", "--change", "pitch-too-wide", "-o", "OUT.tain"),
    ),
    "trial": (
        ("plan", "job.tain", "--bare", "--factor", "pitch_mm=0.05,0.1", "-o", "OUT.d"), ("list",),
        ("more", TRIAL, "-o", "OUT.d"), ("read", TRIAL, "A1=0"), ("tick", TRIAL, "burn"),
    ),
    "runsheet": (("job.tain", "-o", "OUT.pdf"), (".", "--find", "AAAA-BBBB")),
}  # fmt: skip


def prepared(folder: Path) -> None:
    """The files and the shop book that the calls work on."""
    (folder / "art.svg").write_bytes(ART)
    (folder / "empty.svg").write_bytes(EMPTY)
    grey = Image.radial_gradient("L").resize((24, 16))
    grey.save(folder / "dots.png")
    (folder / "plate.svg").write_bytes(ART.replace(b"</svg>", b'<text x="5" y="22" font-size="4">{name}</text></svg>'))
    if hasattr(os, "mkfifo"):
        os.mkfifo(folder / "pipe")
        (folder / "nowhere").symlink_to("gone")
    (folder / "names.csv").write_bytes(b"name\nAda\nBo\n")
    for words in (
        ["prepare", "art.svg", "-o", "job.tain", "-o", "bed.svg", "--sheet", "60x50x3"],
        ["rack", "add", "P1", "--size", "60x50x3", "--stock", "mirrored acrylic 3"],
        ["rack", "add", "P2", "--size", "60x50x3", "--stock", "mirrored acrylic 3"],
        ["book", "export", "book.json"],
        ["trial", "plan", "job.tain", "--bare", "--factor", "pitch_mm=0.05,0.1", "-o", "trial"],
    ):
        code, _, error = called(words)
        assert code == 0, error
    next((folder / "trial").glob("*.json")).rename(folder / TRIAL)


def actions_of(parser: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    """The parsers of a command's actions, by name; empty for a command without any."""
    if parser._subparsers is None:
        return {}
    choices: dict[str, argparse.ArgumentParser] = parser._subparsers._group_actions[0].choices  # type: ignore[assignment]
    return choices


def calls() -> Iterator[list[str]]:
    """Every call of the attack."""
    for name, bases in BASE.items():
        for base in bases:
            parser = _parser_of(name)
            actions = (actions_of(parser)[base[0]] if actions_of(parser) else parser)._actions
            for value in VALUES:
                for at in range(len(base)):
                    if not base[at].startswith("-"):
                        yield [name, *base[:at], value, *base[at + 1 :]]
                for action in actions:
                    if action.option_strings and action.nargs != 0 and not isinstance(action, argparse._HelpAction):
                        yield [name, *base, action.option_strings[-1], value, *_force(actions)]
    for name in COMMANDS:
        yield [name]
        yield [name, "none.svg"]
    yield from (["prepare", "art.svg", "-o", target, "--force"] for target in ("/dev/null", "a.svg/b.svg", "art.svg"))
    for target in ("job.tain", "/dev/null", "bed.svg", "none/a.json"):
        yield ["prepare", "art.svg", "-o", "OUT.svg", "--force", "--report", target]
    figures = ("speed_mm_s", "power_pct", "passes", "pitch_mm", "lines_per_inch", "air", "focus_mm", "edge_inset_mm")
    for target, figure, value in itertools.product(("fill", "cut", "machine", "\udc80"), figures, VALUES[2:12]):
        yield ["prepare", "art.svg", "-o", "OUT.svg", "--force", "--set", f"{target}.{figure}={value}"]


def _force(actions: list[argparse.Action]) -> list[str]:
    return ["--force"] if any("--force" in action.option_strings for action in actions) else []


@contextlib.contextmanager
def _parsers_kept() -> Iterator[None]:
    """A command's parser is the same for each of its calls: made once, not a thousand times."""
    before, command_line.parser_of = command_line.parser_of, _parser_of
    try:
        yield
    finally:
        command_line.parser_of = before


_parser_of = functools.cache(parser_of)


def called(words: list[str]) -> tuple[int | str, str, str]:
    """Exit code (or what was raised), output, error output of one call."""
    out, error = io.StringIO(), io.StringIO()
    words = [f"out/{word}" if word.startswith("OUT.") else word for word in words]
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(error), _parsers_kept():
        try:
            code: int | str = main(words)
        except SystemExit as stopped:
            code = stopped.code if isinstance(stopped.code, int) else 2
        except _TooLong:
            code = f"longer than {LONGEST_S} s"
        except Exception as fault:  # noqa: BLE001  # whatever it is, it must not get here
            code = f"{type(fault).__name__}: {fault}"
    return code, out.getvalue(), error.getvalue()


def wrong(words: list[str], code: int | str, error: str) -> str | None:
    """What is wrong with how a call ended; None for nothing."""
    lines = error.splitlines()
    if code not in (0, 1, 2):
        return str(code)
    if "Traceback" in error or any(f"{name}Error" in error for name in ("Value", "Type", "Key", "Index", "OS")):
        return f"says {error[-200:]!r}"
    if code == 2 and len([line for line in lines if not line.startswith("note:")]) != 1:
        return f"{len(lines)} lines on the error stream: {error[:300]!r}"
    if code == 1 and not lines:
        return "1 without a word on the error stream"
    return None


class _TooLong(BaseException):
    pass


def attack(every: int = 1, *, start: int = 0) -> tuple[int, list[str]]:
    """Make each ``every``-th call; how many were made, and what was wrong."""
    before, places = Path.cwd(), {name: os.environ.get(name) for name in ("TAIN_HOME", "XDG_DATA_HOME")}
    folder = Path(tempfile.mkdtemp())
    os.environ |= dict.fromkeys(places, str(folder / "home"))
    problems, made = [], 0

    def too_long(*_: object) -> None:
        raise _TooLong

    clocks = (
        [(signal.SIGPROF, signal.ITIMER_PROF, LONGEST_S), (signal.SIGALRM, signal.ITIMER_REAL, 10 * LONGEST_S)]
        if hasattr(signal, "setitimer")
        else []
    )
    before_signals = [(number, signal.signal(number, too_long)) for number, _, _ in clocks]
    try:
        os.chdir(folder)
        prepared(folder)
        for words in itertools.islice(calls(), start, None, every):
            shutil.rmtree("out", ignore_errors=True)
            os.mkdir("out")
            for _, clock, seconds in clocks:  # its own work, and, for what waits for ever, the clock on the wall
                signal.setitimer(clock, seconds)
            begun = time.perf_counter()
            code, _, error = called(words)
            for _, clock, _ in clocks:
                signal.setitimer(clock, 0)
            took_s = time.perf_counter() - begun
            made += 1
            problem = wrong(words, code, error)
            if problem is not None:
                problems.append(f"{[word[:40] for word in words]}: {problem}")
            elif took_s > LONGEST_S / 3 and __name__ == "__main__":
                print("slow", round(took_s, 1), [word[:40] for word in words], file=sys.stderr)
    finally:
        for number, handler in before_signals:
            signal.signal(number, handler)
        os.chdir(before)
        for name, place in places.items():
            os.environ.pop(name)
            if place is not None:
                os.environ[name] = place
        shutil.rmtree(folder, ignore_errors=True)
    return made, problems


if __name__ == "__main__":
    begun = time.perf_counter()
    made, problems = attack(int(sys.argv[1]) if sys.argv[1:] else 1, start=int(sys.argv[2]) if sys.argv[2:] else 0)
    print("\n".join(problems))
    print(f"{made} calls, {len(problems)} wrong, {time.perf_counter() - begun:.0f} s")
    sys.exit(bool(problems))
