"""The samples that come with Tain."""

from importlib import resources
from pathlib import Path

from core.artwork.reading import READABLE_SUFFIXES


def sample_files() -> list[Path]:
    """The sample artwork, by name; empty where it was not installed."""
    try:
        folder = Path(str(resources.files("sample_jobs")))
    except ModuleNotFoundError:
        return []
    return sorted(path for path in folder.iterdir() if path.suffix.lower() in READABLE_SUFFIXES)
