"""The shop book's tables, version by version. SQLite keeps the version in ``user_version``.

To change the tables, append a function to ``MIGRATIONS``; never edit one that has shipped. Each runs once, inside the
transaction that also raises the version, so that a process killed halfway leaves the old version whole.
"""

import sqlite3
from collections.abc import Callable

from core.shop_book.words import digest_of, searched_words, timed_machine


def _entries(connection: sqlite3.Connection) -> None:
    """Every entry is one row: stable uuid, kind, name, JSON body, and the stamp of its last change."""
    connection.execute(
        "CREATE TABLE entry (uuid TEXT PRIMARY KEY, kind TEXT NOT NULL, name TEXT NOT NULL, body TEXT NOT NULL,"
        " stamp TEXT NOT NULL)"
    )
    connection.execute("CREATE INDEX entry_by_kind ON entry (kind, name)")


def _history(connection: sqlite3.Connection) -> None:
    """Removed entries stay as marks, so that an import does not bring them back; earlier states are kept."""
    connection.execute("ALTER TABLE entry ADD COLUMN removed INTEGER NOT NULL DEFAULT 0")
    connection.execute("ALTER TABLE entry ADD COLUMN note TEXT NOT NULL DEFAULT ''")
    connection.execute(
        "CREATE TABLE earlier (uuid TEXT NOT NULL, stamp TEXT NOT NULL, name TEXT NOT NULL, body TEXT NOT NULL,"
        " removed INTEGER NOT NULL, note TEXT NOT NULL, PRIMARY KEY (uuid, stamp))"
    )


def _indexed(connection: sqlite3.Connection) -> None:
    """Hundreds of thousands of entries are listed, found and searched without reading their bodies.

    digest: of the body, so that an import finds an equal entry at once. machine: of a timed job, for the run-time fit.
    number: ties an entry to its row in the index of words (a rowid may change when the file is packed).
    """
    connection.execute("ALTER TABLE entry ADD COLUMN digest TEXT NOT NULL DEFAULT ''")
    connection.execute("ALTER TABLE entry ADD COLUMN machine TEXT NOT NULL DEFAULT ''")
    connection.execute("ALTER TABLE entry ADD COLUMN number INTEGER NOT NULL DEFAULT 0")
    rows = connection.execute("SELECT uuid, kind, name, note, body, removed FROM entry").fetchall()
    connection.execute("CREATE VIRTUAL TABLE entry_words USING fts5(words, tokenize = 'unicode61')")
    for number, (uuid, kind, name, note, body, removed) in enumerate(rows, start=1):
        connection.execute(
            "UPDATE entry SET digest = ?, machine = ?, number = ? WHERE uuid = ?",
            (digest_of(body), timed_machine(kind, body), number, uuid),
        )
        if not removed:
            connection.execute(
                "INSERT INTO entry_words (rowid, words) VALUES (?, ?)", (number, searched_words(name, note, body))
            )
    connection.execute("CREATE INDEX entry_listed ON entry (kind, removed, name, stamp, uuid, note, number)")
    connection.execute("CREATE INDEX entry_alike ON entry (kind, name, digest) WHERE removed = 0")
    connection.execute("CREATE INDEX entry_timed ON entry (machine, stamp) WHERE machine != '' AND removed = 0")
    connection.execute("CREATE UNIQUE INDEX entry_number ON entry (number)")


MIGRATIONS: tuple[Callable[[sqlite3.Connection], None], ...] = (_entries, _history, _indexed)
VERSION = len(MIGRATIONS)


def version_of(connection: sqlite3.Connection) -> int:
    """The version of an open book; 0 for a new file."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def migrate(connection: sqlite3.Connection) -> None:
    """Bring the tables to ``VERSION``, inside the caller's transaction."""
    for number in range(version_of(connection), VERSION):
        MIGRATIONS[number](connection)
        connection.execute(f"PRAGMA user_version = {number + 1}")
