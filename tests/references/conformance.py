"""resvg's own conformance files (Apache-2.0 or MIT), one small file for each thing that SVG can say.

They are taken from the original archive of Debian's source package resvg 0.45.1, with the fonts that they are drawn in.
"""

from pathlib import Path

from tests.references.debian import unpacked_source

UPSTREAM = "0.45.1"
SHA256 = "5563fa965bbe9e7d521815abfc74b98959d41349b55e5a9b85c825f7fbf8ef6c"

PAINTED = ("shapes", "structure", "painting", "masking", "paint-servers")
"""Parts judged together."""

LEFT_OUT = {
    "structure/image": "pictures made of dots, a task of its own",
    "painting/image-rendering": "pictures made of dots",
    "masking/clip/simple-case": "a picture made of dots",
    "masking/mask/with-image": "a picture made of dots",
    "masking/mask/with-grayscale-image": "a picture made of dots",
    "structure/symbol/with-size-on-use-and-relative-units": "a picture made of dots",
    "structure/transform-origin/on-image": "a picture made of dots",
    "structure/svg/zero-size": "refused by both",
    "structure/svg/negative-size": "refused by both",
    "structure/svg/background-color": "a background is no paint",
    "text/color-font": "letters that are pictures",
}
"""Files (or folders) that are not judged, and why."""

PAINTED_OTHERWISE = {
    "shapes/rect/ch-values": "CSS Values 4, 6.1",
    "shapes/rect/q-values": "CSS Values 4, 6.2",
    "shapes/rect/rem-values": "CSS Values 4, 6.1",
    "shapes/rect/vmin-and-vmax-values": "CSS Values 4, 6.1.2",
    "shapes/rect/vw-and-vh-values": "CSS Values 4, 6.1.2",
    "structure/style-attribute/non-presentational-attribute": "SVG 2, 7: geometry is style",
    "structure/style/non-presentational-attribute": "SVG 2, 7: geometry is style",
    "structure/symbol/with-transform": "SVG 2, 5.5: a symbol may have a transform",
    "structure/systemLanguage/on-svg": "SVG 2, 5.9: no language is excluded on the outermost element here",
    "text/unicode-bidi/bidi-override": "CSS Writing Modes 4, 2.4.2",
    "text/font-size/named-value": "CSS Fonts 4, 2.5: sizes by name do not depend on the parent's",
    "text/font-size/named-value-without-a-parent": "CSS Fonts 4, 2.5",
    "text/font-weight/650": "CSS Fonts 4, 2.2: any number from 1 to 1000",
}
"""Files that the specification reads as we do and resvg does not; they count as misses all the same."""


def files_of(part: str) -> list[Path]:
    """The files of one part that are judged, in order. Raises CorpusMissingError."""
    folder = _folder() / "tests"
    found = sorted((folder / part).rglob("*.svg"))
    return [path for path in found if not _is_left_out(path.relative_to(folder).with_suffix("").as_posix())]


def name_of(path: Path) -> str:
    """How a file is called in the suite: part/feature/case."""
    return path.relative_to(_folder() / "tests").with_suffix("").as_posix()


def fonts() -> Path:
    """The folder of fonts that the files are drawn in. Raises CorpusMissingError."""
    return _folder() / "fonts"


def _folder() -> Path:
    return unpacked_source("resvg", UPSTREAM, SHA256) / "crates" / "resvg" / "tests"


def _is_left_out(name: str) -> bool:
    return any(name == start or name.startswith((start + "/", start + "-")) for start in LEFT_OUT)
