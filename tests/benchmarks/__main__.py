"""``python -m tests.benchmarks [name...]``: all benchmarks, or those named, each in a process of its own."""

import importlib
import pkgutil
import subprocess
import sys

import tests.benchmarks
from tests.benchmarks import HEADER


def _names() -> list[str]:
    modules = (module.name for module in pkgutil.iter_modules(tests.benchmarks.__path__))
    return sorted(name.removeprefix("bench_") for name in modules if name.startswith("bench_"))


def main(wanted: list[str]) -> int:
    """Print one line a figure; a benchmark that fails is named and makes the exit status 1."""
    names = _names()
    unknown = [name for name in wanted if name not in names]
    if unknown:
        print(f"No benchmark {', '.join(unknown)}; there are {', '.join(names)}.", file=sys.stderr)
        return 2
    if len(wanted) == 1:
        for line in importlib.import_module(f"tests.benchmarks.bench_{wanted[0]}").run():
            print(line, flush=True)
        return 0
    print(HEADER, flush=True)
    failed = [
        name
        for name in wanted or names
        if subprocess.run([sys.executable, "-m", "tests.benchmarks", name], check=False).returncode
    ]
    if failed:
        print(f"Failed: {', '.join(failed)}.", file=sys.stderr)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
