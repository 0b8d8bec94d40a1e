"""The samples that come with Tain."""

from functools import cache
from importlib import resources
from pathlib import Path

from core.artwork.sources import READABLE_SUFFIXES


@cache
def sample_files() -> tuple[Path, ...]:
    """The sample artwork, by name; empty where it was not installed. Looked up once: samples come with the program."""
    try:
        files = [Path(str(file)) for file in resources.files("sample_jobs").iterdir()]
    except ModuleNotFoundError:
        return ()
    return tuple(sorted(file for file in files if file.suffix.lower() in READABLE_SUFFIXES))


def plain_name(path: Path) -> str:
    """A sample's name for people."""
    return path.stem.replace("-", " ").capitalize()


def sample_name(path: Path) -> str:
    """The same with the kind of file."""
    return f"{plain_name(path)} ({path.suffix[1:].upper()})"
