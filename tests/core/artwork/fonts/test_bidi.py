"""Lines that run both ways, by the examples of UAX 9 (Unicode Bidirectional Algorithm); capitals stand for Hebrew."""

import pytest

from core.artwork.fonts.bidi import visual_runs

_HEBREW = {chr(ord("A") + i): chr(0x05D0 + i) for i in range(26)}
_MIRRORED = str.maketrans("()[]", ")(][")


def shown(text: str, *, right_to_left: bool) -> str:
    line = "".join(_HEBREW.get(character, character) for character in text)
    parts = []
    for start, stop, level in visual_runs(line, right_to_left=right_to_left):
        part = text[start:stop]
        parts.append(part[::-1].translate(_MIRRORED) if level % 2 else part)
    return "".join(parts)


@pytest.mark.parametrize(
    ("text", "right_to_left", "expected"),
    [
        ("plain (text) 1", False, "plain (text) 1"),
        ("", True, ""),
        ("car means CAR.", False, "car means RAC."),  # L2, example 1
        ("car MEANS CAR.", True, ".RAC SNAEM car"),  # L2, example 2
        ("AB(CD[&ef]!)gh", True, "gh(![ef&]DC)BA"),  # N0, example 1
        ("smith (fabrikam ARABIC) HEBREW", True, "WERBEH (CIBARA fabrikam) smith"),  # N0, example 2
        ("ARABIC book(s)", True, "book(s) CIBARA"),  # N0, example 3
        ("AB! (CD)", False, "(DC) !BA"),  # N0 c: R inside and R before
        ("AB 12,50 CD", False, "DC 12,50 BA"),  # W4
        ("AB 50% CD", False, "DC 50% BA"),  # W5
        ("AB CD  ", True, "  DC BA"),  # L1
    ],
)
def test_order_on_the_line(text: str, right_to_left: bool, expected: str) -> None:
    assert shown(text, right_to_left=right_to_left) == expected
