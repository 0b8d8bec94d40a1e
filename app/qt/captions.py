"""The one door of all captions: what the window says in fixed words goes through here, so that a translation can come.

A ``QTranslator`` that is installed answers for the context ``CONTEXT``; ``tests.captions`` collects the words for
``pyside6-lupdate``. Words made of figures and names pass unchanged: no catalogue has them.
"""

from PySide6.QtCore import QCoreApplication

CONTEXT = "Tain"


def caption(text: str) -> str:
    """The words in the language chosen; as they stand where there is no translation."""
    return QCoreApplication.translate(CONTEXT, text) if text else text
    """The words in the language chosen; as they stand where there is no translation."""
    return QCoreApplication.translate(CONTEXT, text) if text else text


def filled(template: str, **values: object) -> str:
    """A sentence with figures and names in it: the template in the language chosen, filled with them.

    ``filled("{count} of {all} shapes", count=3, all=7)``; formats stand in the template as ``str.format`` has them.
    """
    return caption(template).format(**values)
