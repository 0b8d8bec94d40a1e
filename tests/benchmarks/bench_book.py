"""A shop book with 200,000 entries: listing, finding, searching, the timed jobs of a machine."""

import json
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from core.shop_book.jobs_done import timings_by_machine
from core.shop_book.store import ShopBook, open_book

ENTRIES = 200_000


def filled(book: ShopBook, count: int) -> None:
    """So many jobs done, a tenth of them timed, written by the statements of the store."""
    from core.job.as_data import to_data
    from core.shop_book.kinds import JobDone
    from core.shop_book.words import digest_of, searched_words, timed_machine

    plain = to_data(
        JobDone(done="2026-01-01", stock="mirrored acrylic 3 mm", machine="CO2 flatbed 100 W", predicted_s=9.0)
    )
    timing = {
        "name": "a", "actual_s": 10.0, "predicted_s": 9.0, "acceleration_mm_s2": 1e4, "turn_round_s": 0.01,
        "inverse_acceleration_slope": 1.0, "turn_rounds": 5.0,
    }  # fmt: skip

    def rows() -> Iterator[tuple[object, ...]]:
        for number in range(count):
            name = f"harbour sign {number}"
            data = plain | {"verdict": f"clean {number % 97}", "settings": "x" * 900}
            if number % 10 == 0:
                data |= {"timing": timing | {"predicted_s": 9.0 + number % 7, "turn_rounds": 5.0 + number % 11}}
            body = json.dumps(data)
            words = searched_words(name, "", body)
            yield f"{number:036d}", name, body, digest_of(body), timed_machine("job", body), 1000 + number, words

    connection = book._connection
    with book.writing():
        for uuid, name, body, digest, machine, number, words in rows():
            connection.execute(
                "INSERT INTO entry (uuid, kind, name, body, stamp, digest, machine, number)"
                " VALUES (?, 'job', ?, ?, '2026-01-01T00:00:00.000000Z', ?, ?, ?)",
                (uuid, name, body, digest, machine, number),
            )
            connection.execute("INSERT INTO entry_words (rowid, words) VALUES (?, ?)", (number, words))


def run() -> Iterator[str]:
    """One line a figure."""
    with tempfile.TemporaryDirectory() as folder, open_book(Path(folder) / "book.sqlite") as book:
        filled(book, ENTRIES)
        asked: dict[str, Callable[[], object]] = {
            "list": lambda: book.listed("job"),
            "find": lambda: book.find("job", "harbour sign 123456"),
            "search, one hit": lambda: book.search("harbour 123456"),
            "search, many hits": lambda: book.search("clean acrylic"),
            "search, none": lambda: book.search("lighthouse"),
            "timed jobs": lambda: timings_by_machine(book),
            "all stocks": lambda: book.values("stock"),
        }
        for name, ask in asked.items():
            begun = time.perf_counter(), time.process_time()
            ask()
            wall_s, own_s = time.perf_counter() - begun[0], time.process_time() - begun[1]
            yield f"{ENTRIES} entries, {name}: {wall_s:.3f} s ({own_s:.3f} s of this process)"


if __name__ == "__main__":
    for line in run():
        print(line)
