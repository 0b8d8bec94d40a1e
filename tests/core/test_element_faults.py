"""A fault of the program is no strange element of the maker's file."""

import logging

import pytest

from core.artwork.drawing import ReadOptions
from core.artwork.svg import read_svg, walking
from core.element_faults import STRICT_VARIABLE, note_fault

TWO = b"""<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm" viewBox="0 0 10 10">
<path id="leaf" d="M0 0h5v5z"/><rect width="3" height="3"/></svg>"""


@pytest.fixture
def broken_paths(monkeypatch: pytest.MonkeyPatch) -> None:
    real = walking.draw_path

    def broken(bench, node, *args, **keywords):
        if node.tag == "path":
            note_fault_of_ours(None)
        real(bench, node, *args, **keywords)

    monkeypatch.setattr(walking, "draw_path", broken)
    monkeypatch.setattr("core.element_faults._CORE", __file__)


def note_fault_of_ours(nothing) -> None:
    nothing.tag  # noqa: B018  # an AttributeError, raised here


def test_where_faults_are_looked_for_they_are_raised(broken_paths: None) -> None:
    with pytest.raises(AttributeError, match="tag"):
        read_svg(TWO, ReadOptions())


def test_elsewhere_the_element_is_left_out_and_the_traceback_logged(
    broken_paths: None, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.delenv(STRICT_VARIABLE)
    with caplog.at_level(logging.ERROR, logger="tain.reading"):
        drawing = read_svg(TWO, ReadOptions())
    assert [shape.kind for shape in drawing.shapes] == ["rect"]
    (finding,) = [one for one in drawing.findings if one.code == "element-unreadable"]
    assert 'path id="leaf"' in finding.message
    assert "Error" not in finding.message
    assert "note_fault_of_ours" in caplog.text  # the traceback


def test_what_a_library_raises_about_the_content_is_the_files() -> None:
    try:
        logging.getLogger(3)  # type: ignore[arg-type]
    except TypeError as fault:
        note_fault(fault, "an element")  # raised inside logging: not ours, not raised again
