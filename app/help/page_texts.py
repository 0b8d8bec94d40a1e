"""The pages of help: their order, titles and words. They lie beside this as HTML of our own, with pictures."""

import html
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

FOLDER = Path(__file__).with_name("pages")
ORDER = ("start", "faces", "artwork", "layers", "sheet", "burn", "coverage", "paint", "hand-over", "shop")
SNIPPET_CHARS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class HelpPage:
    """One page. ``words`` is its text without markup, for the search."""

    key: str
    title: str
    markup: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A page that holds all the words, and where in it, in a few words."""

    page: HelpPage
    snippet: str


@cache
def help_pages() -> tuple[HelpPage, ...]:
    """All pages, in order."""
    return tuple(_read(key) for key in ORDER)


def page_of_stage(stage: str) -> str:
    """The key of the page that a stage's F1 opens."""
    return stage.replace(" ", "-")


def search(text: str) -> tuple[Found, ...]:
    """The pages that hold all these words, those that have them in their title first; all pages for no words."""
    wanted = text.lower().split()
    found = []
    for page in help_pages():
        lower = page.words.lower()
        if all(word in lower for word in wanted):
            at = min((lower.index(word) for word in wanted), default=0)
            found.append((not all(word in page.title.lower() for word in wanted), page, _snippet(page.words, at)))
    found.sort(key=lambda one: one[0])
    return tuple(Found(page=page, snippet=snippet if wanted else "") for _, page, snippet in found)


def _read(key: str) -> HelpPage:
    markup = (FOLDER / f"{key}.html").read_text("utf-8")
    title = re.search("<h1>(.*?)</h1>", markup, re.DOTALL)
    body = re.sub("<h1>.*?</h1>", "", markup, count=1, flags=re.DOTALL)
    words = html.unescape(re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", body))).strip()
    name = html.unescape(title.group(1)) if title else key
    return HelpPage(key=key, title=name, markup=markup, words=f"{name}. {words}")


def _snippet(words: str, at: int) -> str:
    start = max(0, at - SNIPPET_CHARS // 3)
    start = 0 if start == 0 else words.find(" ", start) + 1
    end = words.find(" ", start + SNIPPET_CHARS)
    return ("… " if start else "") + words[start : end if end > 0 else None] + (" …" if end > 0 else "")
