"""A window that is edited without a pause and killed at a random moment, again and again; what is lost is measured.

``python -m tests.stress.kills --kills 200``. Each round a process of its own opens a sample, edits the job ten times a
second and more, now and then works long in one event, and tells when each edit was made. It is killed (SIGKILL) some
moments later; the next process brings the copy back as the window would. Counted are the seconds of work lost: from the
last edit that came back to the last that was made. Exit code 1 where more than LOST_AT_MOST_S were lost, where a copy
could not be read, or where steps of undo were missing.
"""

import argparse
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

if TYPE_CHECKING:
    from app.session.recovery import Leftover

LOST_AT_MOST_S = 5.0
ASKS = ("faulty-door-sign", "room-key-tags")
"""Samples that can't be opened without an answer."""


def edit(folder: Path, sample: Path, seed: int) -> None:
    """In the process that will be killed: edits until then, one line on stdout for each."""
    from PySide6.QtCore import QTimer
    from PySide6.QtWidgets import QApplication

    from app.window.start import new_window

    app = QApplication([])
    dice, window = random.Random(seed), new_window(folder)
    window.show()
    window.files.open(sample)
    made = 0

    def change() -> None:
        nonlocal made
        if window.session.job.source is None:
            return
        made += 1
        placement = replace(window.session.job.placement, centred=False, x_mm=float(made))
        window.session.commit(replace(window.session.job, placement=placement), f"Edit {made}")
        print(made, time.time(), flush=True)
        if dice.random() < 0.02:
            time.sleep(dice.random())  # something long in the window's own thread
        timer.setInterval(dice.choice([5, 20, 60, 100]))

    timer = QTimer()
    timer.timeout.connect(change)
    timer.start(20)
    app.exec()


def one_kill(folder: Path, sample: Path, seed: int, after_s: float) -> tuple[float, int, int]:
    """(seconds lost, edits made, steps of undo that came back)."""
    from app.session.recovery import forget, leftovers

    words = [sys.executable, "-m", "tests.stress.kills", "--edit", str(folder), str(sample), str(seed)]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env={**os.environ, "TAIN_HOME": str(folder)})
    assert process.stdout is not None
    lines = [process.stdout.readline()]  # once the first edit is made
    began = time.time()
    while time.time() - began < after_s:
        line = process.stdout.readline()
        if not line:
            raise RuntimeError("the window ended by itself")
        lines.append(line)
    process.send_signal(signal.SIGKILL)
    lines += process.stdout.read().splitlines(keepends=True)
    process.wait()
    made = [(int(number), float(at)) for number, at in (line.split() for line in lines if line.endswith("\n"))]
    left = leftovers(folder / "recovery")
    try:
        return _lost(left, made)
    finally:  # one that failed is not counted with the next
        for one in left:
            forget(one.file)


def _lost(left: "Sequence[Leftover]", made: list[tuple[int, float]]) -> tuple[float, int, int]:
    """What ``one_kill`` gives, of the copies that one window left."""
    from app.session.recovery import load_leftover

    if len(left) > 1:
        raise RuntimeError(f"{len(left)} copies of one window")
    if not left:  # nothing came back: all since the first edit is lost
        return made[-1][1] - made[0][1], len(made), 0
    history = load_leftover(left[0])  # raises UnreadableError where it is no whole job
    kept = round(history.job.placement.x_mm)
    steps = len(history.steps)
    if steps < min(kept, 100):
        raise RuntimeError(f"{steps} steps of undo came back with edit {kept}")
    first_lost = next((at for number, at in made if number > kept), None)
    return (made[-1][1] - first_lost if first_lost is not None else 0.0), len(made), steps


def main(words: list[str]) -> int:
    """Kill, measure, say."""
    if words[:1] == ["--edit"]:
        edit(Path(words[1]), Path(words[2]), int(words[3]))
        return 0
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--longest-s", type=float, default=8.0, help="a window lives so long at most")
    options = parser.parse_args(words)
    from app.session.samples import sample_files

    dice, began = random.Random(options.seed), time.monotonic()
    lost: list[float] = []
    edits = 0
    failed: list[str] = []
    with tempfile.TemporaryDirectory(prefix="kills-") as folder:
        for number in range(options.kills):
            sample = dice.choice([path for path in sample_files() if path.stem not in ASKS])
            try:
                gone_s, made, _ = one_kill(Path(folder), sample, number, dice.uniform(0.0, options.longest_s))
            except Exception as error:  # noqa: BLE001 - told at the end, the next window is tried
                failed.append(f"kill {number} ({sample.name}): {error}")
                continue
            lost.append(gone_s)
            edits += made
            if gone_s > LOST_AT_MOST_S:
                failed.append(f"kill {number} ({sample.name}): {gone_s:.1f} s of work lost")
    lost.sort()
    print(
        f"{len(lost)} kills, {edits} edits, {(time.monotonic() - began) / 60:.1f} minutes; seconds of work lost: "
        f"median {lost[len(lost) // 2]:.2f}, 95 in 100 under {lost[int(0.95 * len(lost))]:.2f}, most {lost[-1]:.2f}"
    )
    for line in failed:
        print(line)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
