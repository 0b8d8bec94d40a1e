"""Every fault is drawn from both sides, each unlike all others, and is well-formed SVG."""

import itertools

import pytest
from lxml import etree

from core.trouble.drawings import drawing_svg
from core.trouble.faults import FAULTS


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.code)
def test_front_and_back_are_drawn_and_differ(fault):
    front, back = drawing_svg(fault.code, "front"), drawing_svg(fault.code, "back")
    assert front != back
    for text in (front, back):
        assert etree.fromstring(text.encode()).tag.endswith("svg")


def test_no_two_faults_look_alike():
    drawn = [drawing_svg(fault.code, face) for fault in FAULTS for face in ("front", "back")]
    assert all(one != other for one, other in itertools.combinations(drawn, 2))
    plain = drawing_svg("none", "front")
    assert all(len(one) > len(plain) for one in drawn)
