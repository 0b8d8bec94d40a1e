"""Handwork and burns as a chain of links for one piece, and the tasks that a plan makes of them."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

TaskKind = Literal["mask", "coat", "backing", "peel", "film", "burn"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """One piece of work in a piece's chain.

    wait_min: least time since the end of the link before. within_min: most time since then, 0 for no limit. step is
    the colour's place in the order, from 1; coat counts from 1, as burns do. hands_min: how long hands are at it from
    its start, None for all of it; machine: whether the machine is. after_min: the piece is not done before so long
    after its end.
    """

    step: int
    paint: str
    kind: TaskKind
    coat: int
    duration_min: float
    wait_min: float
    within_min: float = 0.0
    hands_min: float | None = None
    machine: bool = False
    after_min: float = 0.0

    @property
    def has_limit(self) -> bool:
        """Whether it can come too late; a limit below the least wait can't be kept by anybody."""
        return self.within_min > 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """What is to be done to each of some pieces of a job. job: its name, empty where there is only one."""

    links: tuple[Link, ...]
    pieces: int = 1
    job: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A link given its time on one piece (from 1) of a job.

    late: it begins after the can's latest time for the next coat, so the coat before is abraded first, which its time
    holds.
    """

    piece: int
    link: Link
    start: datetime
    end: datetime
    late: bool = False
    job: str = ""

    @property
    def label(self) -> str:
        """What is done: "navy: coat 2"; by this it is ticked off, late or not."""
        return label_of(self.link)


def label_of(link: Link, *, late: bool = False) -> str:
    """What is done, for people."""
    words = {
        "mask": "lay the mask",
        "coat": f"coat {link.coat}",
        "backing": f"backing, coat {link.coat}",
        "peel": "peel the mask",
        "film": "peel the sheet's own film",
        "burn": f"burn {link.coat}" if link.coat else "cut",
    }[link.kind]
    return f"{link.paint}: {'abrade, then ' if late else ''}{words}" if link.paint else words
