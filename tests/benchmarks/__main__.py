"""``python -m tests.benchmarks [--write] [name...]``: all benchmarks, or those named, each in a process of its own.

``--write`` puts what they print into RESULTS.md here, a part a benchmark; the parts of others stay.
"""

import importlib
import os
import pkgutil
import platform
import re
import subprocess
import sys
from datetime import date
from importlib.metadata import version
from pathlib import Path

import tests.benchmarks
from tests.benchmarks import HEADER


def _names() -> list[str]:
    modules = (module.name for module in pkgutil.iter_modules(tests.benchmarks.__path__))
    return sorted(name.removeprefix("bench_") for name in modules if name.startswith("bench_"))


RESULTS = Path(__file__).with_name("RESULTS.md")
_LIBRARIES = ("numpy", "shapely", "manifold3d", "svgelements", "ezdxf", "resvg_py", "PySide6_Essentials")
_HEAD = """# Figures of the benchmarks

Written by `python -m tests.benchmarks --write [name...]`. Only ratios within a line mean anything elsewhere: "x" is how
many times faster than the reference measured in the same run.
"""


def _circumstances() -> str:
    libraries = ", ".join(f"{name} {version(name)}" for name in _LIBRARIES)
    machine = f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores"
    busy = f", load {os.getloadavg()[0]:.1f} at the start" if hasattr(os, "getloadavg") else ""
    return f"{date.today():%d %B %Y}; {machine}{busy}; Python {platform.python_version()}, {libraries}."


def _written(parts: dict[str, str]) -> None:
    """RESULTS.md with these parts in place of the old ones of their names."""
    old = RESULTS.read_text(encoding="utf-8") if RESULTS.exists() else ""
    kept = dict(re.findall(r"^## (\S+)\n(.*?)(?=^## |\Z)", old, flags=re.M | re.S))
    kept |= {name: f"\n{text}\n" for name, text in parts.items()}
    body = "\n".join(f"## {name}\n{kept[name].rstrip()}\n" for name in sorted(kept))
    RESULTS.write_text(f"{_HEAD}\n{body}", encoding="utf-8")


def _run_apart(name: str, *, keep: bool) -> tuple[int, str]:
    """Exit status and output of one benchmark in a process of its own; printed as it comes."""
    lines = []
    with subprocess.Popen(
        [sys.executable, "-m", "tests.benchmarks", name], stdout=subprocess.PIPE if keep else None, text=True
    ) as process:
        for line in process.stdout or ():
            print(line, end="", flush=True)
            lines.append(line.rstrip())
    return process.returncode, "\n".join(lines)


def main(wanted: list[str]) -> int:
    """Print one line a figure; a benchmark that fails is named and makes the exit status 1."""
    write = "--write" in wanted
    wanted = [name for name in wanted if name != "--write"]
    names = _names()
    unknown = [name for name in wanted if name not in names]
    if unknown:
        print(f"No benchmark {', '.join(unknown)}; there are {', '.join(names)}.", file=sys.stderr)
        return 2
    if len(wanted) == 1 and not write:
        for line in importlib.import_module(f"tests.benchmarks.bench_{wanted[0]}").run():
            print(line, flush=True)
        return 0
    print(HEADER, flush=True)
    failed = []
    for name in wanted or names:
        circumstances = _circumstances()
        code, output = _run_apart(name, keep=write)
        if code:
            failed.append(name)
        elif write:
            _written({name: f"{circumstances}\n\n```\n{HEADER}\n{output}\n```"})
    if failed:
        print(f"Failed: {', '.join(failed)}.", file=sys.stderr)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
