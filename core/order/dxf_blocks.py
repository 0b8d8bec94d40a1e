"""Texts with fields in blocks of a DXF: the inserts that place them, and drawings that hold nothing but those."""

from collections import deque
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

TEXTS = ("TEXT", "MTEXT")
MODEL = ""


@dataclass(frozen=True, slots=True, eq=False)
class _Placing:
    """The first insert that places a block, and the block that holds this insert (MODEL for none)."""

    insert: Any
    within: str


class PlacedBlocks:
    """The blocks that inserts place in the model, straight or from within other blocks, in order of first placing."""

    def __init__(self, document: Any) -> None:
        self._document = document
        self._first: dict[str, _Placing] = {}
        self._inserts: dict[str, list[Any]] = {MODEL: _inserts(document.modelspace())}
        waiting = deque(_Placing(one, MODEL) for one in self._inserts[MODEL])
        while waiting:
            placing = waiting.popleft()
            block = document.blocks.get(placing.insert.dxf.get("name", ""))
            if block is None or block.name in self._first or (block.block is not None and block.block.is_xref):
                continue
            self._first[block.name] = placing
            self._inserts[block.name] = _inserts(block)
            waiting.extend(_Placing(one, block.name) for one in self._inserts[block.name])

    def __contains__(self, name: str) -> bool:
        return name in self._first

    def texts(self) -> Iterator[tuple[Any, str]]:
        """TEXT and MTEXT in them, with the block's name."""
        for name in self._first:
            for entity in self._document.blocks.get(name):
                if entity.dxftype() in TEXTS:
                    yield entity, name

    def leading_to(self, names: Collection[str]) -> dict[str, tuple[Any, ...]]:
        """MODEL and each block that places one of these: its inserts that do, without attributes."""
        wanted, waiting = set(names), list(names)
        holders: dict[str, set[str]] = {}
        for holder, inserts in self._inserts.items():
            for one in inserts:
                holders.setdefault(self._name(one), set()).add(holder)
        while waiting:
            more = holders.get(waiting.pop(), set()) - wanted
            wanted |= more
            waiting += more
        return {
            holder: tuple(_bare(one) for one in self._inserts[holder] if self._name(one) in wanted)
            for holder in self._inserts
            if holder in wanted
        }

    def first_way(self, name: str) -> dict[str, Any]:
        """MODEL and each block on the way to the first placing of this one: its insert, alone."""
        way = {}
        while name != MODEL:
            placing = self._first[name]
            way[placing.within] = _bare(placing.insert, once=True)
            name = placing.within
        return way

    def _name(self, insert: Any) -> str:
        """The block's name as the block has it: an insert may write it in other capitals."""
        block = self._document.blocks.get(insert.dxf.get("name", ""))
        return block.name if block is not None else ""


class WithBlocks:
    """A document whose blocks hold other things; all else is as in the document."""

    def __init__(self, document: Any, contents: Mapping[str, Sequence[Any]]) -> None:
        self._document = document
        self.blocks = _Contents(document.blocks, contents)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._document, name)


class _Contents:
    def __init__(self, blocks: Any, contents: Mapping[str, Sequence[Any]]) -> None:
        self._blocks, self._contents = blocks, contents

    def get(self, name: str) -> "_Content | None":
        block = self._blocks.get(name)
        return None if block is None else _Content(block, self._contents.get(block.name, ()))


class _Content:
    def __init__(self, block: Any, entities: Sequence[Any]) -> None:
        self.block, self._entities = block.block, entities

    def __iter__(self) -> Iterator[Any]:
        return iter(self._entities)


def _inserts(layout: Any) -> list[Any]:
    return [entity for entity in layout if entity.dxftype() == "INSERT"]


def _bare(insert: Any, *, once: bool = False) -> Any:
    copy = insert.copy()
    copy.delete_all_attribs()
    if once:
        copy.dxf.row_count = copy.dxf.column_count = 1
    return copy
