"""Reading an export back, beside the whole of ``tain prepare`` with it: at least four times as long is wanted.

The reference is the command itself in a process of its own, from start to written file. A larger file is made of many
copies of one drawing's lines.
"""

import subprocess
import sys
import tempfile
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from core.job.prepare import prepare
from core.output.export import exported
from core.output.opening import open_job
from core.output.proving import prove
from core.sheet.placement import Sheet
from tests.benchmarks import Line, timed

ROOT = Path(__file__).parents[2]
WAVES = 700
"""Of 150 cubics each."""


def run() -> Iterable[Line]:
    with tempfile.TemporaryDirectory() as folder:
        large = Path(folder) / "large.svg"
        large.write_text(_many_curves())
        for artwork in (ROOT / "sample_jobs/name-plate.svg", ROOT / "sample_jobs/ornament-mirror.svg", large):
            for suffix in (".svg", ".dxf"):
                yield _proving(artwork, suffix, Path(folder))


def _proving(artwork: Path, suffix: str, folder: Path) -> Line:
    sheet = ["--sheet", "900x900x3"]
    command = [sys.executable, "-m", "app", "prepare", str(artwork), "-o", str(folder / f"out{suffix}"), "--force"]
    whole = timed(lambda: subprocess.run([*command, *sheet], cwd=ROOT, check=True, capture_output=True))
    plan = prepare(replace(open_job(artwork), sheet=Sheet(width_mm=900, height_mm=900, thickness_mm=3)))
    data = exported(plan, suffix).data
    proof = timed(lambda: prove(data, suffix, plan), repeats=2)
    return Line(
        name=f"read back {artwork.name} as {suffix[1:].upper()}, {len(data) / 1e6:.1f} MB",
        time_s=proof.time_s,
        reference="tain prepare, all of it",
        reference_s=whole.time_s,
        note=proof.result.words,
    )


def _many_curves() -> str:
    waves = "".join(f'<path d="M5 {10 + wave} {"c1 -0.4 2 0.4 3 0" * 150}"/>' for wave in range(WAVES))
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="470mm" height="720mm" viewBox="0 0 470 720">'
    return f'{head}<g fill="none" stroke="#000" stroke-width="0.1">{waves}</g></svg>'
