"""What an exported file says of itself: found in one place, for SVG and DXF alike, and parsed once."""

import json
from dataclasses import replace

import pytest

from core.artwork.drawing import ArtworkSource, ReadOptions
from core.artwork.dxf import loaded_once
from core.artwork.own_export import said_by
from core.artwork.reading import own_export, read_artwork
from core.errors import UnreadableError
from core.job.job import new_job
from core.job.prepare import prepare
from core.output.export import export_bytes
from core.output.opening import job_from_artwork
from core.output.settings_document import settings_document
from core.sheet.placement import Sheet

ARTWORK = b"""<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="50mm" viewBox="0 0 80 50">
<rect x="1" y="1" width="78" height="48" fill="none" stroke="#000" stroke-width="0.1"/>
<path d="M12 10h26v7H20v7h12v7H20v12h-8z" fill="#222"/></svg>"""


@pytest.fixture(scope="module")
def plan():
    job = new_job(ArtworkSource(name="flag.svg", data=ARTWORK))
    return prepare(replace(job, sheet=Sheet(width_mm=127, height_mm=76.2, thickness_mm=3)))


@pytest.mark.parametrize("suffix", [".svg", ".dxf"])
def test_both_kinds_say_the_same(plan, suffix: str) -> None:
    own = own_export(ArtworkSource(name=f"bed{suffix}", data=export_bytes(plan, suffix)))
    assert own is not None
    assert own.settings == json.loads(json.dumps(settings_document(plan)))
    assert (own.width_mm, own.height_mm) == (127, 76.2)
    assert own.to_front == (-1.0, 0.0, 0.0, 1.0, 127.0, 0.0)
    assert own.layers == {1: ("fill", "fill"), 2: ("cut", "cut")}
    assert own.moved_for_kerf == frozenset()


def test_other_files_say_nothing() -> None:
    assert own_export(ArtworkSource(name="a.svg", data=ARTWORK)) is None
    assert own_export(ArtworkSource(name="a.dxf", data=b"0\nEOF\n")) is None
    assert own_export(ArtworkSource(name="a.pdf", data=b"%PDF-1.7")) is None


def test_a_dxf_is_loaded_once_from_opening_to_the_plan(plan, monkeypatch) -> None:
    count = []
    load = loaded_once.load
    monkeypatch.setattr(loaded_once, "load", lambda *args: count.append(1) or load(*args))
    data = export_bytes(plan, ".dxf")
    job = job_from_artwork(ArtworkSource(name="bed.dxf", data=data))
    assert prepare(job).drawing.from_export
    assert len(count) == 1
    assert read_artwork(job.source, ReadOptions()).from_export  # loaded again: a reader may change what it is given
    assert len(count) == 2


@pytest.mark.parametrize(
    "text",
    ["", "{", "[]", "null", '{"face": "bed"}', '{"layers": 3}', "[" * 5000, '{"face": NaN}'],
)
def test_damaged_settings_are_told_in_one_sentence(text: str) -> None:
    with pytest.raises(UnreadableError, match="exported by Tain"):
        said_by(text)
