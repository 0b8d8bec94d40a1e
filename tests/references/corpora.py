"""Open sets of real SVG and PDF files, pinned, fetched with npm and pip into a cache outside the project.

``TAIN_CORPORA`` moves the cache. Sets were chosen to be drawn differently from each other; none is of brand logos.
"""

import fcntl
import os
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fnmatch import fnmatch
from pathlib import Path

import platformdirs

WANTED = (".svg", ".pdf")


class CorpusMissingError(Exception):
    """A package could not be fetched."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Corpus:
    """One set: which package, which of its files, what kind of drawing, its licence as the package states it."""

    name: str
    package: str
    version: str
    client: str
    files: str
    kind: str
    licence: str


CORPORA = (
    Corpus(
        name="lucide", package="lucide-static", version="1.62.0", client="npm", files="package/icons/*.svg",
        kind="line icons with strokes", licence="ISC",
    ),
    Corpus(
        name="temaki", package="@rapideditor/temaki", version="5.13.0", client="npm", files="package/icons/*.svg",
        kind="filled map icons", licence="CC0-1.0",
    ),
    Corpus(
        name="twemoji", package="@twemoji/svg", version="15.0.0", client="npm", files="package/*.svg",
        kind="emoji, flat pictures", licence="CC-BY-4.0",
    ),
    Corpus(
        name="country-flags", package="svg-country-flags", version="1.2.10", client="npm", files="package/svg/*.svg",
        kind="flags and arms, drawn by many hands and editors", licence="MIT",
    ),
    Corpus(
        name="circle-flags", package="circle-flags", version="2.8.3", client="npm", files="package/flags/*.svg",
        kind="flags behind a mask", licence="MIT",
    ),
    Corpus(
        name="weather", package="@bybas/weather-icons", version="2.0.0", client="npm",
        files="package/production/fill/all/*.svg", kind="pictures with gradients, clips and symbols", licence="MIT",
    ),
    Corpus(
        name="weather-lines", package="@bybas/weather-icons", version="2.0.0", client="npm",
        files="package/production/line/all/*.svg", kind="strokes with gradients, clips and symbols", licence="MIT",
    ),
    Corpus(
        name="tango", package="wx-icons-tango", version="0.2.0", client="pip", files="*/Tango/scalable/*.svg",
        kind="pictures saved by a vector editor: groups, opacity, gradients, filters", licence="public domain",
    ),
)  # fmt: skip


PDF_CORPORA = (
    Corpus(
        name="pypdf", package="pypdf", version="7.1.1", client="pip-source", files="*/resources/*.pdf",
        kind="pages by many programs: forms, scripts, letters of all kinds, broken files", licence="BSD-3-Clause",
    ),
    Corpus(
        name="pikepdf", package="pikepdf", version="10.18.0", client="pip-source", files="*/tests/resources/*.pdf",
        kind="scans, drawings and odd structures", licence="MPL-2.0",
    ),
    Corpus(
        name="pdfminer", package="pdfminer", version="20191125", client="pip-source", files="*/samples/*.pdf",
        kind="papers, forms, Japanese text, encrypted files", licence="MIT",
    ),
    Corpus(
        name="rst2pdf", package="rst2pdf", version="0.105", client="pip-source", files="*/tests/reference/*.pdf",
        kind="set text with figures, tables, formulas and fonts cut down", licence="MIT",
    ),
)  # fmt: skip


def files_of(corpus: Corpus) -> list[Path]:
    """All files of a set, in order, fetched first where they are not there yet. Raises CorpusMissingError."""
    folder = cache() / f"{corpus.package.replace('/', '-').lstrip('@')}-{corpus.version}"
    if not folder.is_dir():
        with alone(folder):
            if not folder.is_dir():
                _fetch(corpus, folder)
    suffix = corpus.files[corpus.files.rindex(".") :]
    named = (path for path in folder.rglob(f"*{suffix}") if path.is_file())
    found = sorted(path for path in named if fnmatch(path.relative_to(folder).as_posix(), corpus.files))
    if not found:
        raise CorpusMissingError(f"{corpus.package} {corpus.version} holds no {corpus.files}.")
    return found


def sample(paths: Iterable[Path], count: int) -> list[Path]:
    """So many of the files, evenly spread and always the same."""
    paths = list(paths)
    return [paths[i * len(paths) // count] for i in range(min(count, len(paths)))] if len(paths) > count else paths


def cache() -> Path:
    """Where fetched sets are kept."""
    return Path(os.environ.get("TAIN_CORPORA") or platformdirs.user_cache_path("tain") / "corpora")


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """No other test process fills this folder at the same time."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    with folder.with_name(f".{folder.name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def _fetch(corpus: Corpus, folder: Path) -> None:
    with tempfile.TemporaryDirectory(dir=folder.parent) as scratch_name:
        scratch = Path(scratch_name)
        said = _download(corpus, scratch)
        if corpus.client == "pip-source":
            unpacked = next((path for path in scratch.glob("pip-download-*/*") if path.is_dir()), None)
        else:
            unpacked = _unpacked(scratch)
        if unpacked is None:
            raise CorpusMissingError(f"{corpus.package} {corpus.version} could not be fetched: {said}")
        kept = scratch / "kept"
        for path in (one for one in unpacked.rglob("*") if one.suffix in WANTED and one.is_file()):
            to = kept / ("" if corpus.client != "pip-source" else "source") / path.relative_to(unpacked)
            to.parent.mkdir(parents=True, exist_ok=True)
            path.rename(to)
        if kept.is_dir():
            kept.rename(folder)


def _download(corpus: Corpus, scratch: Path) -> str:
    """Fetch a package into the folder; gives the client's last words if it did not end well."""
    pip = [sys.executable, "-m", "pip", "download", "-q", "--no-deps"]
    pin = f"{corpus.package}=={corpus.version}"
    command = {
        "npm": ["npm", "pack", "--silent", f"{corpus.package}@{corpus.version}"],
        "pip": [*pip, pin],
        # pip asks every source package for its metadata; without the tools for that it stops, where it would fetch and
        # build them for minutes. What it had unpacked by then is left in place, and is all that is wanted.
        "pip-source": [*pip, "--no-binary=:all:", "--no-build-isolation", "--no-clean", pin],
    }[corpus.client]
    try:
        done = subprocess.run(
            command, cwd=scratch, capture_output=True, timeout=300, env={**os.environ, "TMPDIR": str(scratch)}
        )
    except FileNotFoundError:
        raise CorpusMissingError(f"{corpus.package} is fetched with {corpus.client}, which is not here.") from None
    except subprocess.TimeoutExpired:
        raise CorpusMissingError(f"{corpus.package} was not fetched within five minutes.") from None
    lines = done.stderr.decode(errors="replace").strip().splitlines()
    return lines[-1] if done.returncode and lines else ""


def _unpacked(scratch: Path) -> Path | None:
    archive = next((path for path in scratch.iterdir() if path.suffix in (".tgz", ".whl")), None)
    if archive is None:
        return None
    unpacked = scratch / "unpacked"
    if archive.suffix == ".whl":
        with zipfile.ZipFile(archive) as wheel:
            wheel.extractall(unpacked, [name for name in wheel.namelist() if name.endswith(WANTED)])
    else:
        with tarfile.open(archive) as tar:
            tar.extractall(unpacked, [m for m in tar.getmembers() if m.name.endswith(WANTED)], filter="data")
    return unpacked
