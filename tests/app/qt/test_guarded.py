"""No exception passes from a method that Qt calls into Qt: every override is walked and raised in."""

import importlib
import inspect
import sys
from pathlib import Path

import pytest
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

import app
from app.qt.guarded import Guarded, is_guarded, overridden

ROOT = Path(app.__file__).parent


def classes_over_qt() -> list[type]:
    """All classes of the window that stand on one of Qt's."""
    found = []
    for path in sorted(ROOT.rglob("*.py")):
        name = ".".join(path.relative_to(ROOT.parent).with_suffix("").parts).removesuffix(".__init__")
        if name == "app.__main__":
            continue
        module = importlib.import_module(name)
        own = [one for one in vars(module).values() if inspect.isclass(one) and one.__module__ == name]
        found += [one for one in own if any(base.__module__.startswith("PySide6") for base in one.__mro__)]
    return found


OVERRIDES = [(one, name) for one in classes_over_qt() for name in overridden(one)]


def test_there_are_many() -> None:
    assert len(OVERRIDES) > 60


@pytest.mark.parametrize(("one", "name"), OVERRIDES, ids=lambda value: getattr(value, "__name__", value))
def test_an_exception_in_any_override_becomes_a_fault(one: type, name: str, monkeypatch) -> None:
    method = vars(one)[name]
    assert is_guarded(method), f"{one.__name__}.{name}: mix Guarded in"
    told = []
    monkeypatch.setattr(sys, "excepthook", lambda kind, error, trace: told.append(kind))

    def broken(self, *arguments):
        raise ZeroDivisionError

    monkeypatch.setattr(method, "guards", broken)

    class Event:
        ignored = False

        def ignore(self) -> None:
            self.ignored = True

    event = Event()
    method(object(), event)
    assert told == [ZeroDivisionError]
    assert event.ignored == (name == "closeEvent")


class Broken(Guarded, QWidget):
    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.drawLine(0, 0, 5, 5)
        raise ZeroDivisionError


def test_a_widget_that_fails_to_paint_goes_on_living(qtbot, monkeypatch) -> None:
    told = []
    monkeypatch.setattr(sys, "excepthook", lambda kind, error, trace: told.append(kind))
    widget = Broken()
    qtbot.addWidget(widget)
    widget.resize(40, 40)
    for _ in range(3):
        assert widget.grab().width() > 0
    assert told == [ZeroDivisionError] * 3
