"""The readers of job files, exports and shop books as the fuzzer calls them, and values that forgers would try.

Whatever is taken must be whole: a job written again is the same job, a book's entries can all be read back.
"""

import copy
import functools
import io
import json
import random
import tempfile
import zipfile
from pathlib import Path
from typing import Any

from core.artwork.drawing import ArtworkSource, ReadOptions
from core.artwork.own_export import NAMESPACE
from core.artwork.reading import read_artwork
from core.job.checks import check_job
from core.job.job_file import job_file_bytes, job_from_bytes
from core.output.opening import job_from_artwork
from core.shop_book.entries import Damaged
from core.shop_book.exchange import exported, import_into
from core.shop_book.store import ShopBook, open_book

KEPT = Path(__file__).parent / "kept_files"
DAY = "2026-11-25"
NASTY: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 2, 1e308, -1e308, 1e-320, 1e15, 10**400, float("nan"), float("inf"), "", " ", "\0",
    "\ud800", "a\nb", "<img src=x>", "x" * 5000, [], {}, [[]], [None], {"a": 1}, "fill", "cut", "leave out",
    "undecided", "#12345g", "9999-12-31T23:59:59.999999Z", "bed", "sideways", "front", [1.0, 2.0],
    [[0.0, 0.0], [1e308, 0.0], [0.0, 1.0]],
)  # fmt: skip


def read_job(data: bytes, _: ReadOptions) -> None:
    """A job file; plain JSON is taken for the job.json of one."""
    if not data.startswith(b"PK"):
        buffer = io.BytesIO()
        with zipfile.ZipFile(buffer, "w") as archive:
            archive.writestr("job.json", data)
            archive.writestr("artwork/original", b"<svg/>")
        data = buffer.getvalue()
    job = job_from_bytes(data, name="a.tain")
    check_job(job)
    assert job_from_bytes(job_file_bytes(job), name="again") == job


def read_export(data: bytes, options: ReadOptions) -> None:
    """An exported file, given as the settings document inside it: as artwork, and as the job it was."""
    source = svg_saying(data.decode("utf-8", "replace"))
    job = job_from_artwork(source)
    check_job(job)
    job_from_bytes(job_file_bytes(job), name="again")
    read_artwork(source, options)


def svg_saying(document: str) -> ArtworkSource:
    """A small exported SVG with this settings document."""
    text = document.encode("ascii", "xmlcharrefreplace").decode()
    text = "".join(letter for letter in text if letter.isprintable()).replace("<", "&lt;")
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:tain="{NAMESPACE}" width="9mm" height="9mm" viewBox="0 0 9 9">'
        f"<metadata><tain:job>{text}</tain:job></metadata><g><path d='M0 0h5v5z'/></g></svg>"
    )
    return ArtworkSource(name="a.svg", data=svg.encode())


def read_book(data: bytes, _: ReadOptions) -> None:
    """A shop book's export, taken into a book that is emptied again."""
    book = _book()
    book._connection.execute("SAVEPOINT before")
    try:
        import_into(book, data, name="a.json")
        exported(book)
        assert not any(isinstance(entry.value, Damaged) for entry in book.search("", most=10**6))
        assert book.damaged() == ()
    finally:
        book._connection.execute("ROLLBACK TO before")
        book._connection.execute("RELEASE before")


@functools.cache
def _book() -> ShopBook:
    book = open_book(Path(tempfile.mkdtemp()) / "book.sqlite")
    book._connection.execute("PRAGMA synchronous = OFF")
    return book


def beginnings(kind: str) -> list[bytes]:
    """What the search starts from: files of the day that are kept for ever."""
    if kind == "job":
        job = json.loads((KEPT / f"decided-{DAY}.json").read_text("utf-8"))
        return [json.dumps({"tain_job": 1, "artwork": "a.svg", "job": job}).encode()]
    if kind == "book":
        book = json.loads((KEPT / f"book-{DAY}.json").read_text("utf-8"))
        kinds = {entry["kind"]: entry for entry in book["entries"]}
        return [json.dumps(book | {"entries": list(kinds.values())}).encode()]
    from core.output.opening import embedded_settings

    path = KEPT / f"decided-{DAY}.svg"
    return [json.dumps(embedded_settings(ArtworkSource(name=path.name, data=path.read_bytes()))).encode()]


def mutated_json(data: bytes, seed: int) -> bytes:
    """The document with a few of its values changed for ones that make no sense; what is none stays as it is."""
    try:
        document = json.loads(data)
    except (ValueError, RecursionError):
        return data
    dice = random.Random(seed)
    for _ in range(dice.randint(1, 3)):
        places = list(_places(document))
        if not places:
            break
        at, key = dice.choice(places)
        change = dice.randrange(5)
        if change == 0 and isinstance(at, dict):
            del at[key]
        elif change == 1 and isinstance(at, dict):
            at[dice.choice(("wobble", "name", "recipe", ""))] = at[key]
        elif change == 2:
            at[key] = copy.deepcopy(dice.choice([holder[other] for holder, other in places]))
        else:
            at[key] = copy.deepcopy(dice.choice(NASTY))
    try:
        return json.dumps(document).encode()
    except (ValueError, RecursionError):
        return data


def _places(document: Any) -> Any:
    keys = document if isinstance(document, dict) else range(len(document)) if isinstance(document, list) else ()
    for key in keys:
        yield document, key
        yield from _places(document[key])
