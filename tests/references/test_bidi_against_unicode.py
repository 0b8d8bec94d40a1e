"""The order of letters on a line against the Unicode Consortium's own cases and an independent library.

Outside sources: BidiCharacterTest.txt of the Unicode Character Database 15.0 (Unicode, Inc.; UAX 44), in Debian's
package unicode-data; python-bidi, which wraps the Rust crate unicode-bidi.
"""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.artwork.fonts.bidi import levels_of, visual_runs
from tests.references.corpora import CorpusMissingError
from tests.references.debian import packaged

EVERY = 7
"""Every so-manieth of the 91,707 cases: all of them take five seconds."""

_LETTERS = "ab 12,.-+%()[]א\u05d1ג\u0627\u0628\u0661\u0662\u05b0"
_ONE_BRACKET = str.maketrans(")]", "([")


def on_the_line(text: str, base: int) -> list[int]:
    """Indices of the characters from left to right."""
    order: list[int] = []
    for start, stop, level in visual_runs(text, right_to_left=bool(base)):
        order += range(stop - 1, start - 1, -1) if level % 2 else range(start, stop)
    return order


def test_levels_and_order_of_the_unicode_cases() -> None:
    try:
        path = packaged("unicode-data", "usr/share/unicode/BidiCharacterTest.txt")
    except CorpusMissingError as error:
        pytest.skip(f"Not compared: {error}")
    cases = [line for line in path.read_text("utf-8").splitlines() if line and not line.startswith("#")]
    assert len(cases) > 90_000
    wrong = []
    for line in cases[::EVERY]:
        codes, _, paragraph, levels, order = line.split(";")
        text = "".join(chr(int(code, 16)) for code in codes.split())
        base = int(paragraph)
        wanted = levels.split()
        own = [str(level) if want != "x" else "x" for level, want in zip(levels_of(text, base), wanted, strict=True)]
        shown = [i for i in on_the_line(text, base) if wanted[i] != "x"]
        if own != wanted or shown != [int(i) for i in order.split()]:
            wrong.append(line)
    assert not wrong, wrong[:5]


@given(st.text(st.sampled_from(_LETTERS), max_size=24), st.sampled_from((0, 1)))
def test_order_against_python_bidi(text: str, base: int) -> None:
    bidi = pytest.importorskip("bidi")
    ours = "".join(text[i] for i in on_the_line(text, base))
    theirs = bidi.get_display(text, base_dir="R" if base else "L")
    # which way a bracket opens is the font's business here, and marks may stand after their letter for terminals
    assert _compared(ours) == _compared(theirs)


def _compared(text: str) -> str:
    return "".join(character for character in text.translate(_ONE_BRACKET) if unicodedata.category(character) != "Mn")


@given(st.text(max_size=40), st.sampled_from((0, 1)))
def test_every_character_stands_on_the_line_once(text: str, base: int) -> None:
    assert sorted(on_the_line(text, base)) == list(range(len(text)))
