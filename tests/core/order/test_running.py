import pytest

from core.errors import UnreadableError
from core.order.running import parse_running


@pytest.mark.parametrize(
    ("text", "first", "last", "count"),
    [
        ("1 to 24", "1", "24", 24),
        ("001 …", "001", None, None),
        ("001 to 120", "001", "120", 120),
        ("A to F", "A", "F", 6),
        ("y - ab", "y", "ab", 4),
        ("7..9", "7", "9", 3),
    ],
)
def test_running_numbers(text, first, last, count):
    running = parse_running(text)
    assert running.at(0) == first
    assert running.count == count
    if count:
        assert running.at(count - 1) == last
        assert running.at(count) is None
    else:
        assert running.at(1500) == "1501"
    assert parse_running(running.words) == running


@pytest.mark.parametrize("text", ["", "x to 4", "9 to 3", "one", "1 to 99999", "-3", "1 to"])
def test_what_does_not_run(text):
    with pytest.raises(UnreadableError):
        parse_running(text)
