"""The stages' pages, each made when it is first asked for: the first picture shows one of them."""

from collections.abc import Callable, Iterator, Mapping

from PySide6.QtWidgets import QStackedWidget

from app.stages.page import Page
from app.stages.stage import Stage


class Pages(Mapping[Stage, Page]):
    """Makes the page of a stage within ``stack`` and tells ``made`` of it; a page shows the session as it then is."""

    def __init__(
        self, makers: Mapping[Stage, Callable[[], Page]], stack: QStackedWidget, made: Callable[[Page], None]
    ) -> None:
        self._makers, self._stack, self._tell_made = makers, stack, made
        self._pages: dict[Stage, Page] = {}

    def __getitem__(self, stage: Stage) -> Page:
        """The page of a stage."""
        if stage not in self._pages:
            page = self._pages[stage] = self._makers[stage]()
            self._stack.addWidget(page)
            self._tell_made(page)
        return self._pages[stage]

    def __iter__(self) -> Iterator[Stage]:
        """All stages, in the order of the work."""
        return iter(self._makers)

    def __len__(self) -> int:
        """How many stages there are."""
        return len(self._makers)

    @property
    def made(self) -> tuple[Page, ...]:
        """The pages that somebody asked for so far."""
        return tuple(self._pages.values())
