"""The maker's own rules: how they are written, what they match, and that the first one wins."""

import pytest

from core.artwork.drawing import Drawing, ReadOptions
from core.artwork.sorting.rules import PurposeRule, offered_rules, parse_rule, ruled, rules_that_match
from core.artwork.svg import read_svg
from core.errors import UnreadableError

BODY = """<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">
<g id="Border"><rect id="edge" x="1" y="1" width="98" height="58" fill="none" stroke="#f00" stroke-width=".1"/></g>
<g id="Art"><path id="leaf" d="M30 20h30v20h-30z" fill="#0a0"/><circle r="5" fill="none" stroke="red"/></g></svg>"""


@pytest.fixture(scope="module")
def drawing() -> Drawing:
    return read_svg(BODY.encode(), ReadOptions())


@pytest.mark.parametrize(
    ("text", "matched"),
    [
        ("layer:border=cut", ["edge"]),
        ("stroke:#f00=score", ["edge", ""]),
        ("stroke:#FF0000=score", ["edge", ""]),
        ("fill:#00aa00=guide", ["leaf"]),
        ("id:leaf=leave-out", ["leaf"]),
        ("id:Art=leave-out", []),
        ("text=score", []),
    ],
)
def test_a_rule_matches_what_it_says(drawing, text, matched):
    by_rule = ruled(drawing, [parse_rule(text)])
    assert [shape.source_id for shape in drawing.shapes if shape.id in by_rule] == matched


@pytest.mark.parametrize(
    "text",
    ["", "cut", "layer=cut", "layer:=cut", "layer:A", "stroke:red=cut", "text:x=cut", "fill:#12=cut", "id:a=burn"],
)
def test_what_is_no_rule_is_refused_with_how_to_write_one(text):
    with pytest.raises(UnreadableError) as refused:
        parse_rule(text)
    assert refused.value.hint


def test_a_rule_reads_back_as_it_is_written():
    for text in ("layer:A=b:c=cut", "stroke:#00ff00=leave-out", "text=score", "id:x y=guide"):
        assert parse_rule(text).written == text


def test_the_first_rule_that_matches_wins(drawing):
    first, second = parse_rule("layer:Border=score"), parse_rule("stroke:#ff0000=cut")
    by_rule = ruled(drawing, [first, second])
    assert list(by_rule.values()) == [first, second]
    assert rules_that_match(drawing, [second, first]) == {second: 2}


def test_an_answer_offers_rules_that_cover_its_shapes(drawing):
    for rule in offered_rules([drawing.shapes[0]], "cut"):
        assert rule.matches(drawing.shapes[0])
    assert offered_rules(drawing.shapes, "cut") == ()


def test_a_rule_says_what_it_does():
    assert PurposeRule(sort="layer", value="Falz", answer="score").sentence == "Shapes on the layer “Falz”: scored."
