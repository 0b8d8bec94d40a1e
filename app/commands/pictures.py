"""Options of commands that say how pictures are taken, and what they come to."""

import argparse
import re
from dataclasses import replace

from core.artwork.picture_decisions import MOST_COLOURS, PictureOptions, ScreenOptions, TraceOptions
from core.errors import UnreadableError
from core.units import parse_length_mm


def add_picture_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments about pictures, alone or inside SVG and PDF."""
    group = parser.add_argument_group("pictures")
    group.add_argument("--width-mm", metavar="N", help="how wide a picture is, unless its file is right")
    ways = group.add_mutually_exclusive_group()
    ways.add_argument(
        "--trace",
        metavar="THRESHOLD|COLOURS",
        help="trace pictures: auto, a threshold (50%% or a grey from 13 to 254), so many flat colours "
        f"(2 to {MOST_COLOURS}), or 3-levels of grey",
    )
    ways.add_argument("--screen", choices=("lines", "dots", "grain"), help="screen pictures instead of tracing them")
    group.add_argument("--ruling", type=float, metavar="N", help="with --screen: cells or dots an inch")
    group.add_argument("--screen-angle", type=float, metavar="DEG", help="with --screen dots: their angle to the rows")
    group.add_argument(
        "--fit-tones", action="store_true", help="with --screen: draw all tones into what the recipe holds"
    )
    group.add_argument(
        "--bared-is",
        choices=("light", "paint", "dark"),
        help="how bared places look: light tones are bared, or dark ones (paint, dark)",
    )


def picture_from(arguments: argparse.Namespace, picture: PictureOptions) -> PictureOptions:
    """The options with what the arguments say. Raises UnreadableError where they make no sense."""
    goes_with_screen = (arguments.ruling, arguments.screen_angle, arguments.fit_tones or None)
    if arguments.screen is None and any(one is not None for one in goes_with_screen):
        raise UnreadableError("A ruling, an angle and fitted tones go with a screen.", hint="Add --screen lines.")
    if arguments.width_mm is not None:
        picture = replace(picture, width_mm=parse_length_mm(arguments.width_mm))
    if arguments.trace is not None:
        picture = replace(picture, way="trace", trace=trace_from(arguments.trace, picture.trace))
    if arguments.screen is not None:
        screen = ScreenOptions(
            kind=arguments.screen,
            lines_per_inch=arguments.ruling,
            angle_deg=45.0 if arguments.screen_angle is None else arguments.screen_angle,
            fit_tones=arguments.fit_tones,
        )
        picture = replace(picture, way="screen", screen=screen)
    if arguments.bared_is is not None:
        picture = replace(picture, bared_is=arguments.bared_is)
    picture.check()
    return picture


def trace_from(text: str, trace: TraceOptions) -> TraceOptions:
    """What "auto", "50%", "128", "4" and "3-levels" mean. Raises UnreadableError."""
    word = text.strip().lower()
    if word == "auto":
        return replace(trace, threshold=None, colours=0, levels=0)
    if found := re.fullmatch(r"(\d{1,2})[- ]?levels?", word):
        return replace(trace, threshold=None, colours=0, levels=int(found[1]))
    if found := re.fullmatch(r"(\d+(?:\.\d+)?)%", word):
        return _by_threshold(trace, float(found[1]) * 2.55, text)
    if re.fullmatch(r"\d{1,2}", word) and 2 <= int(word) <= MOST_COLOURS:
        return replace(trace, threshold=None, colours=int(word), levels=0)
    grey = float(word) if re.fullmatch(r"\d{1,3}(?:\.\d+)?|\.\d+", word) else 0.0
    return _by_threshold(trace, grey * 255 if grey < 1 else grey if grey > MOST_COLOURS else 0.0, text)


def _by_threshold(trace: TraceOptions, grey: float, text: str) -> TraceOptions:
    if not 0 < grey < 255:
        raise UnreadableError(
            f"“{text}” is no way to trace a picture.",
            hint=f"Say auto, a threshold like 50% or 128, 2 to {MOST_COLOURS} for colours, or 3-levels.",
        )
    return replace(trace, threshold=grey, colours=0, levels=0)
