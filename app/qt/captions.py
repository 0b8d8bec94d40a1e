"""The one door of all captions: what the window says in fixed words goes through here, so that a translation can come.

A ``QTranslator`` that is installed answers for the context ``CONTEXT``; ``tests.captions`` collects the words for
``pyside6-lupdate``. Words made of figures and names pass unchanged: no catalogue has them.
"""

from PySide6.QtCore import QCoreApplication

CONTEXT = "Tain"


def caption(text: str) -> str:
    """The words in the language chosen; as they stand where there is no translation."""
    return QCoreApplication.translate(CONTEXT, text) if text else text
