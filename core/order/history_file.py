"""A history as a file, beside the safety copy of its present work: undo outlives a crash.

A zip of ``history.json`` and of the artworks that are not the present design's own.
``{"tain_history": 2, "at": n, "steps": [{"label", "merge_key", "artwork": n or null, "job", "order", "list": n}],
"artworks": [name], "lists": [...]}``; "order" is what an order has beside design and list, "list" which one, where they
are.
"""

import io
import json
import zipfile
import zlib
from dataclasses import replace
from typing import Any

from core.artwork.drawing import ArtworkSource
from core.artwork.reading import MAX_FILE_BYTES
from core.errors import UnreadableError
from core.foreign_json import read_json
from core.job.as_data import from_data, to_data
from core.job.job import Job, new_job
from core.order.history import History, Step
from core.order.lists import NameList
from core.order.order import Order

VERSION = 2
MOST_STEPS = 100
_ENTRY = "history.json"
_MOST_BYTES = 64 * 1024 * 1024
_BLANK = new_job()

Known = dict[int, tuple[Any, Any]]


def history_bytes(history: History, *, known: Known | None = None) -> bytes:
    """The last steps around the present one. ``known`` remembers values as data from one call to the next."""
    first = max(0, history.at - MOST_STEPS + 1)
    steps = history.steps[first : history.at + 1]
    artworks: list[ArtworkSource | None] = [history.job.source]
    lists: list[NameList | None] = []
    data = _Data(known)
    written = []
    for step in steps:
        source = step.job.source
        told = {
            "label": step.label,
            "merge_key": step.merge_key,
            "artwork": _number(source, artworks) if source is not None else None,
            "job": data.of(step.job, lambda job: to_data(replace(job, source=None))),
        }
        if not step.order.is_job:
            told["order"] = data.of(step.order, _without_design_and_list)
            told["list"] = _number(step.order.names, lists) if step.order.names is not None else None
        written.append(told)
    content = {
        "tain_history": VERSION,
        "at": history.at - first,
        "steps": written,
        "artworks": [one.name if one is not None else None for one in artworks],
        "lists": [data.of(one, to_data) for one in lists],
    }
    data.keep(known)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        archive.writestr(_ENTRY, json.dumps(content, ensure_ascii=False, allow_nan=False))
        for number, source in enumerate(artworks[1:], 1):
            if source is not None:
                archive.writestr(f"artwork/{number}", source.data)
    return buffer.getvalue()


class _Data:
    """Values as data, each made once and remembered by its identity."""

    def __init__(self, known: Known | None) -> None:
        self._known = {} if known is None else known
        self._kept: Known = {}

    def of(self, value: Any, made: Any) -> Any:
        found = self._kept.get(id(value)) or self._known.get(id(value)) or (value, made(value))
        self._kept[id(value)] = found
        return found[1]

    def keep(self, known: Known | None) -> None:
        if known is not None:
            known.clear()
            known.update(self._kept)


def _number(value: Any, several: list[Any]) -> int:
    """Which of several this is; it comes to stand behind them where it is none."""
    number = next((i for i, one in enumerate(several) if one is value or one == value), len(several))
    if number == len(several):
        several.append(value)
    return number


def _without_design_and_list(order: Order) -> Any:
    data = to_data(replace(order, design=_BLANK, names=None))
    return {key: value for key, value in data.items() if key not in ("design", "names")}


def history_from_bytes(data: bytes, present: Order) -> History:
    """The history in which this work is the present one. Raises UnreadableError where it is damaged or another's.

    A window that died between two files may have left work that is a few steps behind its history.
    """
    what = "The steps of undo"
    own = present.design.source
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if any(one.file_size > MAX_FILE_BYTES for one in archive.infolist()):
                raise UnreadableError(f"{what} hold more than can be read here.")
            content = read_json(archive.read(_ENTRY), what=what, most_bytes=_MOST_BYTES)
            sources = [own, *(_artwork(archive, i, name) for i, name in _others(content))]
        if content["tain_history"] not in (1, VERSION):
            raise UnreadableError(f"{what} were kept by another Tain.")
        lists = [from_data(NameList, one, what=what) for one in content.get("lists", ())]
        steps = tuple(_step(one, sources, lists, what) for one in content["steps"])
        at = from_data(int, content["at"], what=what)
    except (zipfile.BadZipFile, zlib.error, KeyError, IndexError, TypeError, ValueError, EOFError, RuntimeError):
        raise UnreadableError(f"{what} are damaged.") from None
    if not 0 <= at < len(steps):
        raise UnreadableError(f"{what} belong to another job.")
    nearest = sorted(range(len(steps)), key=lambda number: abs(number - at))
    found = next((number for number in nearest if steps[number].order == present), None)
    own_name = own.name if own is not None else None
    if found is None or (found != at and content["artworks"][0] != own_name):
        raise UnreadableError(f"{what} belong to another job.")
    if found != at:
        steps, at = steps[: found + 1], found  # what came after it was of the work that was not written any more
    return History(steps=(*steps[:at], replace(steps[at], order=present), *steps[at + 1 :]), at=at)


def _others(content: Any) -> list[tuple[int, Any]]:
    return list(enumerate(content["artworks"]))[1:]


def _artwork(archive: zipfile.ZipFile, number: int, name: Any) -> ArtworkSource | None:
    return None if name is None else ArtworkSource(name=str(name), data=archive.read(f"artwork/{number}"))


def _step(data: Any, sources: list[ArtworkSource | None], lists: list[NameList], what: str) -> Step:
    job = from_data(Job, data["job"], what=what)
    number = data["artwork"]
    source = None if number is None else sources[from_data(int, number, what=what)]
    merge_key = None if data["merge_key"] is None else from_data(str, data["merge_key"], what=what)
    design = replace(job, source=source)
    order = Order(design=design)
    if "order" in data:
        of_list = data["list"]
        names = None if of_list is None else lists[from_data(int, of_list, what=what)]
        order = from_data(Order, {**data["order"], "design": to_data(_BLANK), "names": None}, what=what)
        order = replace(order, design=design, names=names)
    return Step(order=order, label=from_data(str, data["label"], what=what), merge_key=merge_key)
