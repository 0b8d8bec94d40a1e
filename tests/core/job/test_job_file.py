import io
import json
import os
import zipfile
from dataclasses import replace

import pytest

from core.artwork.drawing import ArtworkSource
from core.errors import UnreadableError, WriteError
from core.job.job import new_job, with_overrides
from core.job.job_file import job_file_bytes, job_from_bytes, load_job, save_job


@pytest.fixture
def job():
    source = ArtworkSource(name="gull.svg", data=b"<svg xmlns='http://www.w3.org/2000/svg'/>")
    job = with_overrides(new_job(source), ["s1", "s2"], "cut")
    return replace(job, cautions_ticked=frozenset({"film", "focus"}), repairs=("doubled-lines",))


def test_what_is_saved_is_read_back(job, tmp_path):
    path = tmp_path / "gull.tain"
    save_job(job, path)
    assert load_job(path) == job


def test_the_same_job_makes_the_same_bytes(job):
    assert job_file_bytes(job) == job_file_bytes(job_from_bytes(job_file_bytes(job), name="x"))


def test_the_artwork_s_own_bytes_are_inside(job, tmp_path):
    save_job(job, tmp_path / "gull.tain")
    with zipfile.ZipFile(tmp_path / "gull.tain") as archive:
        assert archive.read("artwork/original") == job.source.data


def test_an_existing_file_is_kept_unless_asked(job, tmp_path):
    path = tmp_path / "gull.tain"
    path.write_bytes(b"precious")
    with pytest.raises(WriteError):
        save_job(job, path)
    assert path.read_bytes() == b"precious"
    save_job(job, path, overwrite=True)
    assert load_job(path) == job


def test_a_failed_write_costs_nothing(job, tmp_path, monkeypatch):
    path = tmp_path / "gull.tain"
    save_job(job, path)
    before = path.read_bytes()

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(WriteError, match="No space left"):
        save_job(replace(job, turn="endways"), path, overwrite=True)
    assert path.read_bytes() == before
    assert os.listdir(tmp_path) == ["gull.tain"]


def changed(job, /, **content):
    """The job's file with parts of its job.json replaced."""

    data = job_file_bytes(job)
    buffer = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(buffer, "w") as new:
        loaded = json.loads(old.read("job.json")) | content
        new.writestr("job.json", json.dumps(loaded))
        new.writestr("artwork/original", old.read("artwork/original"))
    return buffer.getvalue()


def test_a_newer_version_is_refused_in_words(job):
    with pytest.raises(UnreadableError, match="newer Tain"):
        job_from_bytes(changed(job, tain_job=99), name="gull.tain")


@pytest.mark.parametrize("content", [{"tain_job": 0}, {"tain_job": "1"}, {"job": {}}, {"job": None}, {"job": []}])
def test_content_that_is_no_job_is_refused(job, content):
    with pytest.raises(UnreadableError):
        job_from_bytes(changed(job, **content), name="gull.tain")


@pytest.mark.parametrize("key", ["turn", "sheet", "layers", "stock"])
def test_damage_inside_the_job_is_named(job, key):
    data = json.loads(zipfile.ZipFile(io.BytesIO(job_file_bytes(job))).read("job.json"))["job"]
    data[key] = "nonsense"
    with pytest.raises(UnreadableError, match=r"gull\.tain"):
        job_from_bytes(changed(job, job=data), name="gull.tain")


def test_numbers_that_are_none_are_refused(job):
    data = json.loads(zipfile.ZipFile(io.BytesIO(job_file_bytes(job))).read("job.json"))["job"]
    data["sheet"]["width_mm"] = float("nan")
    with pytest.raises(UnreadableError):
        job_from_bytes(changed(job, job=data), name="gull.tain")


def test_every_cut_through_the_file_is_refused_not_crashed(job):
    data = job_file_bytes(job)
    for length in range(0, len(data), 37):
        with pytest.raises(UnreadableError):
            job_from_bytes(data[:length], name="gull.tain")


def test_a_flipped_byte_never_crashes(job):
    data = bytearray(job_file_bytes(job))
    for position in range(0, len(data), 11):
        spoiled = bytearray(data)
        spoiled[position] ^= 0xFF
        try:
            job_from_bytes(bytes(spoiled), name="gull.tain")
        except UnreadableError as error:
            assert error.message


def test_no_such_file(tmp_path):
    with pytest.raises(UnreadableError, match="no file"):
        load_job(tmp_path / "none.tain")
