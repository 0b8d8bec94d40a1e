"""Files of Debian's packages that tests are held against, fetched with apt into the same cache as the other sets.

Where there is no apt (or no network) CorpusMissingError is raised and the test is skipped by name.
"""

import hashlib
import subprocess
import tarfile
import tempfile
from pathlib import Path

from tests.references.corpora import CorpusMissingError, alone, cache

_SOURCES = "deb-src http://deb.debian.org/debian trixie main\n"
_HUNG_S = 120


def packaged(package: str, path: str) -> Path:
    """A file of a binary package, by its path in it."""
    folder = cache() / package
    found = folder / path
    if not found.is_file():
        with alone(folder):
            if not found.is_file():
                _fetch_packaged(package, folder)
    if not found.is_file():
        raise CorpusMissingError(f"{package} holds no {path}.")
    return found


def _fetch_packaged(package: str, folder: Path) -> None:
    with tempfile.TemporaryDirectory() as scratch:
        _run(["apt-get", "download", package], scratch)
        archive = next(Path(scratch).glob("*.deb"), None)
        if archive is None:
            raise CorpusMissingError(f"{package} could not be fetched.")
        folder.mkdir(parents=True, exist_ok=True)
        _run(["dpkg-deb", "-x", str(archive), str(folder)], scratch)


def unpacked_source(package: str, upstream: str, sha256: str) -> Path:
    """The folder of a source package's original archive, checked by its sum."""
    folder = cache() / f"{package}-{upstream}-source"
    if not folder.is_dir():
        with alone(folder):
            if not folder.is_dir():
                _fetch_source(package, upstream, sha256, folder)
    (inside,) = folder.iterdir()
    return inside


def _fetch_source(package: str, upstream: str, sha256: str, folder: Path) -> None:
    with tempfile.TemporaryDirectory() as scratch_name:
        scratch = Path(scratch_name)
        lists = scratch / "lists" / "partial"
        lists.mkdir(parents=True)
        (scratch / "sources.list").write_text(_SOURCES, "utf-8")
        own = [
            f"-oDir::Etc::sourcelist={scratch}/sources.list", "-oDir::Etc::sourceparts=-",
            f"-oDir::State::lists={scratch}/lists",
        ]  # fmt: skip
        _run(["apt-get", *own, "update"], scratch)
        # packaging files of an older revision may be gone from the archive; the original is what is wanted
        _run(["apt-get", *own, "source", "--download-only", package], scratch, may_fail=True)
        archive = next(scratch.glob(f"{package}_{upstream}.orig.tar.*"), None)
        if archive is None:
            raise CorpusMissingError(f"{package} {upstream} could not be fetched.")
        if hashlib.sha256(archive.read_bytes()).hexdigest() != sha256:
            raise CorpusMissingError(f"{archive.name} is not the archive that was judged.")
        unpacked = folder.with_suffix(".part")
        with tarfile.open(archive) as tar:
            tar.extractall(unpacked, filter="data")
        unpacked.rename(folder)


def _run(command: list[str], folder: str | Path, *, may_fail: bool = False) -> None:
    try:
        subprocess.run(command, cwd=folder, check=not may_fail, capture_output=True, timeout=_HUNG_S)
    except FileNotFoundError:
        raise CorpusMissingError(f"{command[0]} is not here.") from None
    except (subprocess.CalledProcessError, subprocess.TimeoutExpired):
        raise CorpusMissingError(f"{command[0]} {command[-1]} failed.") from None
