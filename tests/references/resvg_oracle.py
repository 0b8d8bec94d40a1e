"""What an SVG file paints, read here and by resvg (an independent renderer), as intersection over union.

Both pictures are made by the same rasteriser at the same size: the file as it is, and an SVG of the polygons that
were read. A pixel is painted where its alpha is over one half. Each file is compared in a child process, as a
renderer may abort or hang.
"""

import argparse
import contextlib
import hashlib
import io
import json
import math
import os
import queue
import subprocess
import sys
import threading
import time
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from core.atomic import write_atomically
from core.errors import WriteError

LONG_SIDE_PX = 1024
FONTS_VARIABLE = "TAIN_ORACLE_FONTS"
"""A folder of fonts that both sides use instead of the machine's."""

FAMILIES = {
    "serif": "Noto Serif", "sans-serif": "Noto Sans", "cursive": "Yellowtail", "fantasy": "Sedgwick Ave Display",
    "monospace": "Noto Mono",
}  # fmt: skip
"""What the generic families are in that folder."""

MM_PER_CSS_PX = 25.4 / 96
ROOT = Path(__file__).parents[2]


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """One file. iou is 1 where neither paints anything, nan where either side failed; error says which and how.

    read_s and render_s: time to read and paint here, and for resvg to render the file.
    """

    path: str
    iou: float
    error: str = ""
    ours_px: int = 0
    oracle_px: int = 0
    read_s: float = 0.0
    render_s: float = 0.0
    codes: tuple[str, ...] = ()


def compare(path: Path, *, kept: bool = False) -> Comparison:
    """Compares one file in this process. kept: resvg's picture of last time will do, where there is one."""
    started = time.perf_counter()
    try:
        oracle = (kept_picture if kept else rendered)(path.read_bytes())
    except ValueError as error:
        return Comparison(path=str(path), iou=float("nan"), error=f"oracle: {error}"[:200])
    render_s = time.perf_counter() - started
    height, width = oracle.shape
    started = time.perf_counter()
    svg, codes = polygons_svg(path, (width, height))
    read_s = time.perf_counter() - started
    ours = rendered(svg.encode(), as_it_is=True)
    union = int((ours | oracle).sum())
    return Comparison(
        path=str(path),
        iou=float((ours & oracle).sum()) / union if union else 1.0,
        ours_px=int(ours.sum()),
        oracle_px=int(oracle.sum()),
        read_s=read_s,
        render_s=render_s,
        codes=codes,
    )


def kept_picture(data: bytes) -> NDArray[np.bool_]:
    """As ``rendered``, kept beside the sets of files: the same bytes, version, size and fonts give the same picture."""
    from importlib.metadata import version

    from tests.references.corpora import cache

    if b"<text" in data:  # depends on the machine's fonts
        return rendered(data)
    asked = f"{version('resvg_py')} {LONG_SIDE_PX} {os.environ.get(FONTS_VARIABLE, '')}".encode()
    kept = cache() / "painted" / f"{hashlib.sha256(asked + data).hexdigest()}.npz"
    with contextlib.suppress(OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile), np.load(kept) as known:
        height, width = known["size"].tolist()
        return np.unpackbits(known["bits"], count=height * width).reshape(height, width).astype(bool)
    picture = rendered(data)
    packed = io.BytesIO()
    np.savez_compressed(packed, size=picture.shape, bits=np.packbits(picture))
    with contextlib.suppress(OSError, WriteError):
        kept.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(kept, packed.getvalue(), overwrite=True)
    return picture


def rendered(data: bytes, *, as_it_is: bool = False) -> NDArray[np.bool_]:
    """Painted pixels, (height, width), scaled so that the longer side has ``LONG_SIDE_PX`` unless taken as it is."""
    import resvg_py
    from PIL import Image

    text = _text(data)
    options = {"svg_string": text, "skip_system_fonts": "<text" not in text, "dpi": 96.0, "languages": ["en"]}
    fonts = os.environ.get(FONTS_VARIABLE)
    if fonts:
        families = {f"{kind.replace('-', '_')}_family": name for kind, name in FAMILIES.items()}
        options |= {"skip_system_fonts": True, "font_dirs": [fonts] if "<text" in text else [], **families}
    if as_it_is:
        picture = resvg_py.svg_to_bytes(**options)
    else:
        first = Image.open(io.BytesIO(bytes(resvg_py.svg_to_bytes(**options, width=64))))
        longer = "width" if first.width >= first.height else "height"
        picture = resvg_py.svg_to_bytes(**options, **{longer: LONG_SIDE_PX})
    with Image.open(io.BytesIO(bytes(picture))) as image:
        alpha = np.asarray(image.convert("RGBA").getchannel("A"))
    return alpha > 127


def _text(data: bytes) -> str:
    if data[:2] == b"\x1f\x8b":
        import gzip

        data = gzip.decompress(data)
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def polygons_svg(path: Path, size_px: tuple[int, int]) -> tuple[str, tuple[str, ...]]:
    """An SVG this large of the regions that were read from a file, shape by shape, and the codes of what was found."""
    from core.artwork.drawing import ReadOptions
    from core.artwork.painting import painted_regions
    from core.artwork.reading import load_source, read_artwork

    tolerance_mm = 0.01
    drawing = read_artwork(load_source(path), ReadOptions(tolerance_mm=tolerance_mm))
    width_px, height_px = size_px
    # resvg fits the longer side, rounded to whole px beforehand, and rounds the other one up
    long_mm, long_px = max((drawing.width_mm, width_px), (drawing.height_mm, height_px), key=lambda side: side[1])
    mm_per_px = max(1, math.floor(long_mm / MM_PER_CSS_PX + 0.5)) * MM_PER_CSS_PX / long_px
    fine_mm = mm_per_px / 10
    if fine_mm < tolerance_mm:
        drawing = read_artwork(load_source(path), ReadOptions(tolerance_mm=fine_mm))
    regions, findings = painted_regions(drawing.shapes, tolerance_mm=min(fine_mm, tolerance_mm))
    paths = "".join(f'<path fill-rule="evenodd" d="{_path_data(region)}"/>' for region in regions)
    codes = {finding.code for finding in (*drawing.findings, *findings)}
    box = f"0 0 {width_px * mm_per_px!r} {height_px * mm_per_px!r}"
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" width="{width_px}" height="{height_px}">'
    return f"{head}{paths}</svg>", tuple(sorted(codes))


def _path_data(region: object) -> str:
    import shapely

    parts = []
    for ring in shapely.get_rings(shapely.get_parts(region)):
        points = shapely.get_coordinates(ring)
        parts.append("M" + "L".join(f"{x:.6f} {y:.6f}" for x, y in points[:-1].tolist()) + "Z")
    return "".join(parts)


def compare_all(
    paths: Sequence[Path],
    *,
    workers: int = 2,
    timeout_s: float = 60.0,
    fonts: Path | None = None,
    kept: bool = False,
) -> Iterator[Comparison]:
    """Compares files in child processes, as they come; a child that dies or hangs costs its own file only.

    fonts: a folder of fonts that both sides use instead of the machine's. kept: see ``compare``.
    """
    jobs: queue.Queue[Path] = queue.Queue()
    for path in paths:
        jobs.put(path)
    done: queue.Queue[Comparison] = queue.Queue()
    threads = [
        threading.Thread(target=_serve, args=(jobs, done, timeout_s, fonts, kept), daemon=True) for _ in range(workers)
    ]
    for thread in threads:
        thread.start()
    for _ in paths:
        yield done.get()


def _serve(
    jobs: "queue.Queue[Path]", done: "queue.Queue[Comparison]", timeout_s: float, fonts: Path | None, kept: bool
) -> None:
    child: subprocess.Popen[str] | None = None
    while True:
        try:
            path = jobs.get_nowait()
        except queue.Empty:
            break
        if child is None:
            child = _child(fonts, kept)
        assert child.stdin and child.stdout
        guard = threading.Timer(timeout_s, child.kill)
        guard.start()
        try:
            child.stdin.write(f"{path}\n")
            child.stdin.flush()
            line = child.stdout.readline()
        except OSError:
            line = ""
        hung = not guard.is_alive()
        guard.cancel()
        if line:
            fields = json.loads(line)
            done.put(Comparison(**{**fields, "codes": tuple(fields["codes"])}))
        else:
            child.kill()
            _end(child)
            child = None
            died = f"took over {timeout_s:g} s" if hung else "the process died"
            done.put(Comparison(path=str(path), iou=float("nan"), error=died))
    if child is not None:
        _end(child)


def _end(child: "subprocess.Popen[str]") -> None:
    assert child.stdin and child.stdout
    with contextlib.suppress(OSError):  # what was not yet written to a child that died
        child.stdin.close()
    child.stdout.close()
    child.wait(10)


def _child(fonts: Path | None, kept: bool) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-m", "tests.references.resvg_oracle", "--serve", *(["--kept"] if kept else [])],
        cwd=ROOT,
        env={**os.environ, **({FONTS_VARIABLE: str(fonts)} if fonts else {})},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )


def _serve_stdin(lines: Iterable[str], *, kept: bool) -> None:
    from core.errors import TainError

    if os.environ.get(FONTS_VARIABLE):
        _judge_by_small_files(Path(os.environ[FONTS_VARIABLE]))
    for line in lines:
        path = Path(line.rstrip("\n"))
        try:
            result = compare(path, kept=kept)
        except TainError as error:
            result = Comparison(path=str(path), iou=float("nan"), error=f"ours: {error}"[:300])
        except Exception as error:  # noqa: BLE001 - a fault of the reader is a result here
            result = Comparison(path=str(path), iou=float("nan"), error=f"ours: {type(error).__name__}: {error}"[:300])
        print(json.dumps(asdict(result)), flush=True)


def _judge_by_small_files(folder: Path) -> None:
    """The same fonts on both sides, and whole pixels a unit: resvg's tiles of patterns are whole pixels wide."""
    from core.artwork.fonts import catalogue

    global LONG_SIDE_PX
    LONG_SIDE_PX = 1000
    faces = tuple(face for file in catalogue.font_files([folder]) for face in catalogue.faces_of(file))
    catalogue.installed_fonts = lambda: faces  # type: ignore[assignment]
    catalogue.GENERIC_FAMILIES.update({kind: (name,) for kind, name in FAMILIES.items()})


def main() -> None:
    """``python -m tests.references.resvg_oracle FILE...``: prints one line a file, worst first."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--serve", action="store_true")
    parser.add_argument("--kept", action="store_true")
    parser.add_argument("files", nargs="*", type=Path)
    asked = parser.parse_args()
    if asked.serve:
        _serve_stdin(sys.stdin, kept=asked.kept)
        return
    results = sorted(compare_all(asked.files), key=lambda result: (result.iou == result.iou, result.iou))
    for result in results:
        print(f"{result.iou:.4f} {result.path} {result.error} {' '.join(result.codes)}")


if __name__ == "__main__":
    main()
