"""The samples that come with Tain."""

from importlib import resources
from pathlib import Path

from core.artwork.sources import READABLE_SUFFIXES


def sample_files() -> list[Path]:
    """The sample artwork, by name; empty where it was not installed."""
    try:
        files = [Path(str(file)) for file in resources.files("sample_jobs").iterdir()]
    except ModuleNotFoundError:
        return []
    return sorted(file for file in files if file.suffix.lower() in READABLE_SUFFIXES)


def plain_name(path: Path) -> str:
    """A sample's name for people."""
    return path.stem.replace("-", " ").capitalize()


def sample_name(path: Path) -> str:
    """The same with the kind of file."""
    return f"{plain_name(path)} ({path.suffix[1:].upper()})"
