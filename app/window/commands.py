"""The commands of the menus that a part of the window does by itself, by their keys."""

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from app.canvas.faces_view import FacesView
from app.errands.files import Files
from app.errands.living import LivingArtwork
from app.session.settings import Settings

if TYPE_CHECKING:
    from app.canvas.modes import Shown

Commands = dict[str, Callable[[], object]]


def file_commands(files: Files, living: LivingArtwork) -> Commands:
    """Opening and saving."""
    return {
        "open": files.ask_open,
        "replace artwork": files.ask_replace,
        "read again": living.read_again,
        "save": files.save,
        "save as": files.save_as,
    }


def faces_commands(faces: FacesView) -> Commands:
    """What the faces show, and how near."""

    def turn_picture(wanted: "Shown") -> None:
        """Have the front show this; where it does already, what is burned."""
        faces.set_shown("what is burned" if faces.state.shown == wanted else wanted)

    return {
        "fit": lambda: faces.zooming.fit("artwork"),
        "fit selection": lambda: faces.zooming.fit("selection"),
        "fit sheet": lambda: faces.zooming.fit("sheet"),
        "as sent": lambda: turn_picture("as sent"),
        "other picture": lambda: turn_picture("as it will look"),
        "zoom in": lambda: faces.zooming.zoom_by(1.25),
        "zoom out": lambda: faces.zooming.zoom_by(0.8),
    }


def settings_commands(settings: Settings) -> Commands:
    """What is chosen in the menus and remembered."""
    commands: Commands = {
        "other units": lambda: settings.set("units", "mm" if settings.inches else "inch"),
        "findings": partial(settings.toggle, "findings_shown"),
        "read again itself": partial(settings.toggle, "read_again"),
    }
    for key in ("faces", "units", "looks"):
        for value in settings.choices(key):
            commands[f"{key} {value}"] = partial(settings.set, key, value)
    return commands
