"""Entries of the shop book in lines: every figure with where it comes from and how sure it is."""

from dataclasses import is_dataclass
from typing import Any

from core.job.as_data import to_data
from core.sheet.recipes import Origin


def figure_lines(value: Any) -> list[str]:
    """Every figure of an entry's value, with where it comes from and how sure it is."""
    origins = dict(getattr(value, "figure_origins", ()))
    return [
        f"  {name:<26} {short_text(figure)}{_origin_words(origins.get(name))}"
        for name, figure in to_data(value).items()
        if name not in ("name", "figure_origins")
    ]


def short_text(value: Any) -> str:
    """A figure, a list or a record in a few words."""
    if is_dataclass(value):
        value = to_data(value)
    if isinstance(value, dict):
        shown = {key: item for key, item in value.items() if key != "origin" and item not in ("", None, [])}
        return ", ".join(f"{key} {short_text(item)}" for key, item in shown.items())
    if isinstance(value, list):
        return f"{len(value)} items" if len(value) > 4 else ", ".join(map(short_text, value))
    if isinstance(value, float):
        return f"{value:.6g}"
    text = str(value)
    return text if len(text) <= 80 else text[:77] + "..."


def _origin_words(origin: Origin | None) -> str:
    if origin is None:
        return ""
    error = f" ± {origin.standard_error:.2g}" if origin.standard_error is not None else ""
    return f"{error} ({', '.join(word for word in (origin.kind, origin.date, origin.note) if word)})"
