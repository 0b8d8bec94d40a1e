"""The ground of what scrolls is that of its role: what lies behind does not show through."""

import pytest
from PySide6.QtCore import QPoint

from app.stages.stage import Stage
from app.theme.theme import theme

pytestmark = pytest.mark.usefixtures("shared_window")


def colours_at(widget, *at):
    picture = widget.window().grab().toImage()
    corner, ratio = widget.mapTo(widget.window(), QPoint(0, 0)), picture.devicePixelRatio()
    return {picture.pixelColor(*(round(ratio * one) for one in (corner + point).toTuple())).name() for point in at}


def test_the_invitation_covers_the_faces_behind_it(window, settle):
    """The faces draw words of their own in their middle: nothing of them shows between the tiles."""
    settle(window)
    picture, words = window.grab().toImage(), window.faces.state.empty
    window.faces.set_empty_text(
        "Words that are so long that no row of tiles could cover all of them " * 2, "And more " * 20
    )
    other = window.grab().toImage()
    window.faces.set_empty_text(*words)
    assert other == picture


def test_pages_have_their_ground(window, settle):
    settle(window)
    for stage in Stage:
        window.go_to(stage)
        front = window.pages[stage].front
        assert colours_at(front.content, QPoint(3, 3)) == {theme().palette.surface}, stage
