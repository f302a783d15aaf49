"""What Windows says of disks, in words for a coach; here its error numbers are put in by hand.

Numbers and meanings: Microsoft, "System Error Codes" (0-499, 500-999, 1000-1299), Win32 reference.
Which errno CPython makes of them was not tried here: each is given as ENOENT, EACCES or EINVAL.
"""

import errno
import os
import stat
import sys
import threading
from datetime import datetime
from pathlib import Path

import pytest

from tapmark import disk
from tapmark.clip import blob
from tapmark.clip.stills import open_stills
from tapmark.errors import CannotWrite, StoreError, TapmarkError
from tapmark.store import lock
from tapmark.store.files import read_bytes, write_bytes

LONG = "C:\\" + "squad\\" * 42 + "run-1.json"


def refused(winerror: int, number: int, path: str = "E:\\squad") -> OSError:
    trouble = OSError(number, "as Windows says it", path)
    trouble.winerror = winerror  # type: ignore[attr-defined]
    return trouble


@pytest.mark.parametrize(
    ("winerror", "number", "words"),
    [
        (2, errno.ENOENT, "the folder is gone"),
        (3, errno.ENOENT, "the folder is gone"),
        (5, errno.EACCES, "no permission"),
        (19, errno.EACCES, "can only be read"),
        (21, errno.EACCES, "no stick or disk"),
        (32, errno.EACCES, "another program has it open"),
        (33, errno.EACCES, "another program has it open"),
        (112, errno.ENOSPC, "the disk is full"),
        (206, errno.ENOENT, "the name is too long"),
        (433, errno.EINVAL, "the disk does not answer"),
        (1117, errno.EINVAL, "the disk does not answer"),
    ],
)
def test_each_number_of_windows_has_its_words(winerror: int, number: int, words: str) -> None:
    assert words in disk.reason(refused(winerror, number))


@pytest.mark.parametrize("winerror", [2, 3, 206])
def test_a_path_too_long_for_windows_is_told_with_its_length_and_is_not_gone(winerror: int) -> None:
    said = disk.reason(refused(winerror, errno.ENOENT, LONG))
    assert (
        f"the name is too long. Move it to a folder with a shorter path ({len(LONG)} letters"
        in said
    )
    assert "gone" not in said


def test_a_long_path_is_nowhere_taken_for_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Reading, looking, listing and writing, each with the error that Windows gives."""

    def refuse(*args: object, **rest: object) -> None:
        raise refused(3, errno.ENOENT, LONG)

    for name in ("stat", "mkdir", "open"):
        monkeypatch.setattr(Path, name, refuse)
    monkeypatch.setattr(os, "scandir", refuse)
    monkeypatch.setattr(os, "open", refuse)
    path = Path(LONG)

    for ask in (
        lambda: disk.facts(path),
        lambda: disk.entries(path),
        lambda: disk.is_folder(path),
        lambda: read_bytes(path),
        lambda: write_bytes(path, b"x"),
    ):
        with pytest.raises(StoreError, match="too long"):
            ask()


def test_only_what_another_program_holds_is_waited_for(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    tried: list[int] = []
    monkeypatch.setattr(disk, "WAITS_FOR_OTHERS", True)
    monkeypatch.setattr(disk.time, "sleep", lambda _: None)

    for winerror, waits in ((5, True), (32, True), (33, True), (19, False), (21, False)):
        tried.clear()

        def replace(part: Path, path: Path, code: int = winerror) -> None:
            tried.append(code)
            if len(tried) < 3:
                trouble = PermissionError(errno.EACCES, "refused", str(path))
                trouble.winerror = code  # type: ignore[attr-defined]
                raise trouble

        monkeypatch.setattr(os, "replace", replace)
        if waits:
            disk.move_into_place(tmp_path / "a", tmp_path / "b")
        else:
            with pytest.raises(PermissionError):
                disk.move_into_place(tmp_path / "a", tmp_path / "b")
        assert len(tried) == (3 if waits else 1), winerror


def test_a_folder_of_stills_on_a_stick_that_is_gone_says_so(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def refuse(self: Path) -> None:
        raise refused(21, errno.EACCES, str(self))

    monkeypatch.setattr(Path, "iterdir", refuse)
    with pytest.raises(TapmarkError, match="no stick or disk in that drive"):
        open_stills(tmp_path)


def test_without_pread_two_threads_read_the_right_pictures_through_one_handle(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delattr(os, "pread", raising=False)
    opened: list[Path] = []
    real = disk.opened
    monkeypatch.setattr(
        disk, "opened", lambda path, **how: opened.append(path) or real(path, **how)
    )
    pictures = blob.start_blob(tmp_path / "clip.pictures")
    kept = [bytes([i]) * (500 + 37 * i) for i in range(60)]
    for jpeg in kept:
        pictures.append(jpeg)
    wrong: list[int] = []

    def read(step: int) -> None:
        for k in range(1_500):
            i = k * step % len(kept)
            if pictures.read(i) != kept[i]:
                wrong.append(i)

    readers = [threading.Thread(target=read, args=(step,)) for step in (7, 11, 13)]
    for reader in readers:
        reader.start()
    for reader in readers:
        reader.join()
    pictures.close()

    assert (wrong, opened) == ([], [tmp_path / "clip.pictures"])


@pytest.mark.skipif(
    sys.platform == "win32" or not Path("/proc/self/fd").is_dir(),
    reason="no list of this process's files; on Windows tests/store/test_lock.py shows it",
)
def test_no_lock_file_is_removed_while_it_is_open_where_windows_would_refuse(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Released, and given up because its words cannot be written."""
    monkeypatch.setattr(lock, "CLOSES_FIRST", True)
    unlink = Path.unlink

    def strict(path: Path, missing_ok: bool = False) -> None:
        mine = {os.path.realpath(link) for link in Path("/proc/self/fd").iterdir()}
        if str(path.resolve()) in mine:
            raise PermissionError(errno.EACCES, "open", str(path))
        unlink(path, missing_ok)

    monkeypatch.setattr(Path, "unlink", strict)
    run, now = tmp_path / "run-1.json", datetime(2026, 5, 14, 21, 0)
    lock.take_lock(run, "Tapmark", now).release()
    assert not lock.lock_path(run).exists()

    def full(handle: int, size: int) -> None:
        assert stat.S_ISREG(os.fstat(handle).st_mode)
        raise OSError(errno.ENOSPC, "full")

    monkeypatch.setattr(os, "ftruncate", full)
    with pytest.raises(CannotWrite, match="the disk is full"):
        lock.take_lock(run, "Tapmark", now)
    assert not lock.lock_path(run).exists()
