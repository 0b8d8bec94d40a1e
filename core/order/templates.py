"""A design that can be filled in: its texts that hold fields, and what a file of its kind has to offer for that."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

from core.artwork.drawing import Drawing, ReadOptions


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A text that is placed on its own (a ``text``, a placed ``tspan``, a TEXT, an MTEXT) and holds fields.

    key: names it within the design; holder: the id its shapes have in a drawing; text: what it says, fields in braces.
    can_split: whether it may be set in two lines; why_not: if not, why. placed_once: False for a text of a
    block, which is drawn wherever the block is placed.
    """

    key: str
    holder: str
    text: str
    fields: tuple[str, ...]
    can_split: bool = True
    why_not: str = ""
    placed_once: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """How a line is set: ``length`` is how long its advance is made, in the file's own unit (None: as it comes);
    ``width_share`` the same as a share, for files that tell it so; ``size_share`` of the design's size; ``lines`` what
    its two lines say, empty for one."""

    length: float | None = None
    width_share: float = 1.0
    size_share: float = 1.0
    lines: tuple[str, ...] = ()


PLAIN = Setting()


@dataclass(frozen=True, slots=True, kw_only=True)
class Probe:
    """How a line that is read alone differs, for measuring: ``text`` in place of what it says (None: as filled in);
    ``anchor`` ("start", "end") in place of its own; its anchor put at ``moved`` farther along x, in the file's unit."""

    text: str | None = None
    anchor: str = ""
    moved: float = 0.0


NO_PROBE = Probe()


class Template(Protocol):
    """What a kind of file offers. ``values`` are of fields; ``settings`` go by the keys of lines.

    texts: all texts of the file, which may be picked; out_of_reach: those with fields that can't be filled.
    """

    lines: tuple[Line, ...]
    texts: tuple[str, ...]
    out_of_reach: tuple[str, ...]

    def filled(self, values: Mapping[str, str], settings: Mapping[str, Setting]) -> bytes:
        """The whole file, filled in: ordinary artwork."""
        ...

    def marked(self) -> bytes:
        """The whole file as it is, but every text with fields has the id that its lines call ``holder``."""
        ...

    def read_filled(self, values: Mapping[str, str], settings: Mapping[str, Setting], options: ReadOptions) -> Drawing:
        """What is drawn of the texts with fields alone, at its place on the design's page."""
        ...

    def read_line(
        self, line: Line, values: Mapping[str, str], setting: Setting, options: ReadOptions, probe: Probe = NO_PROBE
    ) -> Drawing:
        """What is drawn of one line alone, where it is placed first."""
        ...
