"""The shop book's tables, version by version. SQLite keeps the version in ``user_version``.

To change the tables, append a function to ``MIGRATIONS``; never edit one that has shipped. Each runs once, inside the
transaction that also raises the version, so that a process killed halfway leaves the old version whole.
"""

import sqlite3
from collections.abc import Callable


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


MIGRATIONS: tuple[Callable[[sqlite3.Connection], None], ...] = (_entries, _history)
VERSION = len(MIGRATIONS)


def version_of(connection: sqlite3.Connection) -> int:
    """The version of an open book; 0 for a new file."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def migrate(connection: sqlite3.Connection) -> None:
    """Bring the tables to ``VERSION``, inside the caller's transaction."""
    for number in range(version_of(connection), VERSION):
        MIGRATIONS[number](connection)
        connection.execute(f"PRAGMA user_version = {number + 1}")
