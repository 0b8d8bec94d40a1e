"""Pieces kept for a job: whose they are, whatever the case of its name, and that they are given back once."""

from pathlib import Path

import pytest

from core.artwork.drawing import ArtworkSource
from core.errors import JobError, UnreadableError
from core.job.job import new_job
from core.sheet.offcuts import Piece, rectangle
from core.sheet.stock import MIRRORED_ACRYLIC_3
from core.shop_book.reserving import check_free, give_back, is_kept_from, names_of, reserve
from core.shop_book.store import open_book


@pytest.fixture
def rack(tmp_path):
    with open_book(tmp_path / "book.sqlite") as book:
        piece = Piece(stock=MIRRORED_ACRYLIC_3.name, outline=rectangle(200, 100), thickness_mm=3)
        yield book, book.add("piece", "offcut", piece).uuid


def test_a_job_is_known_by_its_file_and_by_its_artwork():
    job = new_job(ArtworkSource(name="sign.svg", data=b"<svg/>"))
    assert names_of(job, Path("jobs/front door.tain")) == ("front door", "sign")
    assert names_of(job, Path("sign.tain")) == ("sign",) and names_of(new_job()) == ()


def test_a_piece_is_kept_for_one_job_and_given_back_once(rack):
    book, piece = rack
    kept = reserve(book, piece, " Front Door ").value
    assert kept.reserved_for == "Front Door"
    assert is_kept_from(kept, ("sign",)) and not is_kept_from(kept, ("sign", "front door"))
    reserve(book, piece, "front door")  # its own job may ask again
    with pytest.raises(JobError, match="is kept for"):
        reserve(book, piece, "sign")
    with pytest.raises(JobError, match="is kept for"):
        check_free("offcut", kept, ())
    assert give_back(book, piece).value.reserved_for == ""
    with pytest.raises(JobError, match="kept for no job"):
        give_back(book, piece)


def test_a_piece_that_is_gone_or_a_job_without_a_name_keeps_nothing(rack):
    book, piece = rack
    with pytest.raises(UnreadableError):
        reserve(book, piece, "  ")
    book.remove(piece)
    with pytest.raises(JobError, match="not on the rack any more"):
        reserve(book, piece, "sign")
