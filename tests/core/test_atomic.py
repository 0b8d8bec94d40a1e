"""Files are written wholly or not at all, and nothing but plain files is ever replaced."""

import os
import subprocess
import sys

import pytest

from core import atomic
from core.atomic import write_atomically
from core.errors import WriteError


def left_over(folder):
    return [name for name in os.listdir(folder) if name.endswith(".part")]


def test_a_file_is_written_and_replaced_only_when_that_is_allowed(tmp_path):
    path = tmp_path / "a.svg"
    write_atomically(path, b"one", overwrite=False)
    with pytest.raises(WriteError, match="exists already"):
        write_atomically(path, b"two", overwrite=False)
    write_atomically(path, b"three", overwrite=True)
    assert path.read_bytes() == b"three" and left_over(tmp_path) == []


@pytest.mark.skipif(sys.platform == "win32", reason="no such files")
def test_nothing_but_plain_files_is_replaced(tmp_path):
    pipe = tmp_path / "pipe.json"
    os.mkfifo(pipe)
    for target in (pipe, "/dev/null", tmp_path):
        with pytest.raises(WriteError, match=r"no plain file|is a folder"):
            write_atomically(type(tmp_path)(target), b"{}", overwrite=True)
    assert pipe.is_fifo() and left_over(tmp_path) == []


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")
def test_a_link_is_followed(tmp_path):
    (tmp_path / "shop").mkdir()
    real, link = tmp_path / "shop" / "real.svg", tmp_path / "link.svg"
    link.symlink_to(real)
    write_atomically(link, b"new", overwrite=False)  # what it points to was not there yet
    write_atomically(link, b"newer", overwrite=True)
    assert link.is_symlink() and real.read_bytes() == b"newer" and left_over(tmp_path / "shop") == []
    loop = tmp_path / "loop.svg"
    loop.symlink_to(loop)
    with pytest.raises(WriteError):
        write_atomically(loop, b"new", overwrite=True)


def test_names_may_be_as_long_as_the_system_lets_them_be(tmp_path):
    path = tmp_path / ("n" * 251 + ".svg")
    write_atomically(path, b"long", overwrite=False)
    assert path.read_bytes() == b"long"
    with pytest.raises(WriteError, match="can't be written"):
        write_atomically(tmp_path / ("n" * 300 + ".svg"), b"longer", overwrite=False)
    with pytest.raises(WriteError, match="can't be written"):
        write_atomically(tmp_path / "a\0b.svg", b"", overwrite=False)


def test_a_folder_that_is_not_there_is_named(tmp_path):
    with pytest.raises(WriteError, match="There is no folder"):
        write_atomically(tmp_path / "none" / "a.svg", b"", overwrite=False)


def test_the_folder_is_synced_after_the_rename(tmp_path, monkeypatch):
    synced = []
    real = os.fsync
    monkeypatch.setattr(atomic.os, "fsync", lambda handle: (synced.append(os.fstat(handle).st_ino), real(handle)))
    write_atomically(tmp_path / "a.svg", b"one", overwrite=False)
    assert os.stat(tmp_path).st_ino in synced


def test_without_hard_links_nobody_is_overwritten_either(tmp_path, monkeypatch):
    def refused(*_):
        raise PermissionError

    monkeypatch.setattr(atomic.os, "link", refused)
    path = tmp_path / "a.svg"
    write_atomically(path, b"one", overwrite=False)
    assert path.read_bytes() == b"one"
    monkeypatch.setattr(atomic, "check_writable", lambda *_, **__: None)  # another process was quicker
    with pytest.raises(WriteError, match="exists already"):
        write_atomically(path, b"two", overwrite=False)
    assert path.read_bytes() == b"one" and left_over(tmp_path) == []


@pytest.mark.skipif(sys.platform == "win32", reason="told by age there")
def test_what_a_dead_process_left_is_taken_away(tmp_path):
    dead = subprocess.Popen([sys.executable, "-c", ""])
    dead.wait()
    machine = atomic._this_machine()
    names = {
        "dead": f".tain-{machine}-{dead.pid}-01234567.part",
        "alive": f".tain-{machine}-{os.getppid()}-01234567.part",
        "elsewhere": f".tain-{'0' * 12}-{dead.pid}-01234567.part",
        "a stranger's": ".notes.part",
    }
    for name in names.values():
        (tmp_path / name).write_bytes(b"half")
    write_atomically(tmp_path / "a.svg", b"one", overwrite=False)
    assert set(left_over(tmp_path)) == set(names.values()) - {names["dead"]}
