"""The samples that come with Tain."""

from importlib import resources
from pathlib import Path

from core.artwork.reading import READABLE_SUFFIXES


def sample_files() -> list[Path]:
    """The sample artwork, by name; empty where it was not installed."""
    try:
        files = [Path(str(file)) for file in resources.files("sample_jobs").iterdir()]
    except ModuleNotFoundError:
        return []
    return sorted(file for file in files if file.suffix.lower() in READABLE_SUFFIXES)
