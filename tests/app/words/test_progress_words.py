"""Progress of commands: one line on a terminal, nothing elsewhere."""

import io

from app.words.progress_words import told_progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_terminal_is_told_and_left_clean() -> None:
    screen = Terminal()
    with told_progress(screen, silent_s=-1.0) as progress:
        progress(0.25, "writing outlines")
    told = screen.getvalue()
    assert " 25 % writing outlines…" in told
    assert told.endswith("\r") and told.split("\r")[-2].strip() == ""


def test_files_and_short_work_are_told_nothing() -> None:
    plain, screen = io.StringIO(), Terminal()
    for stream, silent_s in ((plain, -1.0), (screen, 60.0)):
        with told_progress(stream, silent_s=silent_s) as progress:
            progress(0.5, "writing outlines")
        assert stream.getvalue() == ""
