"""The one door of all captions: what the window says goes through here, so that a translation can come.

A ``QTranslator`` that is installed answers for two contexts. ``CONTEXT``: the window's own words. ``CORE_CONTEXT``:
words of ``core``, whose sentences come with their figures in them: those, and names in quotes, are taken out before a
sentence is looked up, and put back. ``tests.captions`` collects both for ``pyside6-lupdate``. Names of the maker's own
pass unchanged: no catalogue has them.
"""

import re

from PySide6.QtCore import QCoreApplication

CONTEXT = "Tain"
CORE_CONTEXT = "Tain core"
GAP = "{}"
"""Stands in a sentence of core for a figure or a name in quotes."""
_VALUE = re.compile(r"“[^”]*”|(?<![A-Za-z])[-+]?\d[\d\u202f\u00a0.,:]*(?<![.,:\u202f\u00a0])")
_BETWEEN = re.compile(r"((?<=[.?!])\s+(?:• )?|\n(?:• )?|^• )")


def caption(text: str) -> str:
    """The words in the language chosen; as they stand where there is no translation."""
    if not text:
        return text
    found = QCoreApplication.translate(CONTEXT, text)
    return found if found not in (text, "") else told(text)


def filled(template: str, **values: object) -> str:
    """A sentence with figures and names in it: the template in the language chosen, filled with them.

    ``filled("{count} of {all} shapes", count=3, all=7)``; formats stand in the template as ``str.format`` has them.
    Values that are words of core are put in as they are chosen, too.
    """
    words = {key: told(value) if isinstance(value, str) else value for key, value in values.items()}
    found = QCoreApplication.translate(CONTEXT, template)
    return (found or template).format(**words)


def told(text: str) -> str:
    """What ``core`` says, in the language chosen: looked up whole, else sentence by sentence."""
    whole = _told(text)
    if whole != text:
        return whole
    return "".join(_told(part) if at % 2 == 0 else part for at, part in enumerate(_BETWEEN.split(text)))


def taken_apart(text: str) -> tuple[str, list[str]]:
    """The text with gaps for its figures and quoted names, and those."""
    values = _VALUE.findall(text)
    return _VALUE.sub(GAP, text).replace("\u00a0", " "), values  # kept together or not, it is the same sentence


def _told(text: str) -> str:
    if not any(map(str.isalpha, text)):
        return text
    pattern, values = taken_apart(text)
    found = QCoreApplication.translate(CORE_CONTEXT, pattern)
    if found in (pattern, "") or found.count(GAP) != len(values):  # a translation that loses a figure is none
        return text
    first, *rest = found.split(GAP)
    return first + "".join(value + part for value, part in zip(values, rest, strict=True))
