"""Files of earlier days are read for ever, and mean what they meant.

``tests/kept_files`` holds a job with nearly every decision made, its exports, a plain job and a shop book, written by
the Tain of the day in their names. They are never written anew.
"""

import json
from pathlib import Path

import pytest

from core.errors import UnreadableError
from core.job.as_data import from_data, to_data
from core.job.job import Job
from core.job.job_code import find_job_files, job_code
from core.job.job_file import job_file_bytes, job_from_bytes, load_job
from core.output.opening import open_job
from core.shop_book.exchange import import_into
from core.shop_book.store import open_book

KEPT = Path(__file__).parents[1] / "kept_files"
DECIDED = json.loads((KEPT / "decided-2026-11-25.json").read_text("utf-8"))
CODES = json.loads((KEPT / "codes-2026-11-25.json").read_text("utf-8"))


def job_of(name):
    return load_job(KEPT / f"{name}-2026-11-25.tain")


def test_a_kept_job_says_what_it_said():
    job = job_of("decided")
    assert job.source.name == "sign “Mitte”.svg" and job.source.data.startswith(b"<svg")
    read = to_data(job)
    del read["source"]
    assert same(DECIDED, read) == []


def same(kept, read, at="job"):
    """What differs between what was kept and what is read now; keys that came later may be there."""
    if isinstance(kept, dict):
        return [problem for key in kept for problem in same(kept[key], read.get(key), f"{at}.{key}")]
    if isinstance(kept, list) and len(kept) == len(read):
        return [problem for i, pair in enumerate(zip(kept, read, strict=True)) for problem in same(*pair, f"{at}.{i}")]
    return [] if kept == read else [f"{at} was {kept}, is {read}"]


@pytest.mark.parametrize("name", CODES)
def test_a_printed_code_still_finds_its_job(name):
    assert job_code(job_of(name)) == CODES[name]
    paths = [KEPT / f"{one}-2026-11-25.tain" for one in CODES]
    assert find_job_files(CODES[name].lower(), paths) == (KEPT / f"{name}-2026-11-25.tain",)


@pytest.mark.parametrize("suffix", ["svg", "dxf"])
def test_a_kept_export_opens_as_the_job_it_was(suffix):
    job, kept = open_job(KEPT / f"decided-2026-11-25.{suffix}"), job_of("decided")
    assert (job.sheet, job.stock, job.machine, job.turn) == (kept.sheet, kept.stock, kept.machine, kept.turn)
    assert job.stop_corner == kept.stop_corner
    read = {layer.id: layer for layer in job.layers}
    for layer in kept.layers:
        if layer.id in ("fill", "score", "score-2"):  # those that something lies on
            assert read[layer.id].recipe == layer.recipe and read[layer.id].name == layer.name


def test_a_kept_book_is_taken_in_whole(tmp_path):
    with open_book(tmp_path / "book.sqlite") as book:
        told = import_into(book, (KEPT / "book-2026-11-25.json").read_bytes(), name="kept")
        assert told.problems == () and told.added == 2
        assert book.find("recipe", "fine").value.recipe == job_of("plain").layers[0].recipe


DECISIONS = ("", "layers.0", "layers.0.recipe", "stock", "stock.fill", "machine", "sheet", "placement", "finishing")


@pytest.mark.parametrize("where", DECISIONS)
def test_a_job_with_a_decision_of_a_newer_tain_is_not_opened(where):
    data = json.loads(json.dumps(DECIDED))
    at = data
    for part in filter(None, where.split(".")):
        at = at[int(part)] if part.isdecimal() else at[part]
    at["wobble_mm"] = 1.0
    with pytest.raises(UnreadableError, match=r"saved by a newer Tain.*wobble_mm") as caught:
        from_data(Job, data, what="The job in a.tain")
    assert caught.value.hint == "Update Tain."


def test_what_is_saved_again_keeps_its_bytes():
    kept = (KEPT / "decided-2026-11-25.tain").read_bytes()
    again = job_file_bytes(job_from_bytes(kept, name="kept"))
    assert job_code(job_from_bytes(again, name="again")) == CODES["decided"]
