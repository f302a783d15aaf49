"""What a killed program leaves is removed by the next; what a running one makes is not."""

import ctypes
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tapmark import leftovers
from tapmark.leftovers import half_made, left_in_squad, left_zips, remove_left, temporary_folder
from tests.links import link


@pytest.fixture
def gone() -> int:
    """The number of a process that has ended."""
    with subprocess.Popen([sys.executable, "-c", ""]) as program:
        program.wait()
    return program.pid


@pytest.fixture
def running() -> Iterator[int]:
    """The number of a process that runs."""
    with subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as program:
        yield program.pid
        program.kill()


def put(path: Path) -> Path:
    """A folder with a file in it."""
    path.mkdir(parents=True)
    (path / "x.png").write_bytes(b"x")
    return path


def test_making_a_thing_clears_what_a_killed_program_left_of_it(
    tmp_path: Path, gone: int, running: int
) -> None:
    left = put(tmp_path / f"stills.tapmark-{gone}.part")
    (tmp_path / f"other.tapmark-{gone}.part").write_bytes(b"another one's")
    alive = put(tmp_path / f"stills.tapmark-{running}.part")
    strange = put(tmp_path / f"stills.{gone}.part")
    mine = put(tmp_path / f"stills.tapmark-{os.getpid()}.part")

    assert half_made(tmp_path / "stills") == mine

    assert not left.exists() and not mine.exists()
    assert alive.exists() and strange.exists()
    assert (tmp_path / f"other.tapmark-{gone}.part").exists()


def test_in_a_squad_and_beside_it_all_that_is_left_is_found(
    tmp_path: Path, gone: int, running: int
) -> None:
    squad = tmp_path / "squad"
    wanted = [
        put(squad / "athletes" / f"K07.tapmark-{gone}.part"),
        squad / f"squad.json.{gone}.part",
        put(tmp_path / f"squad.tapmark-{gone}.part"),
    ]
    wanted[1].write_bytes(b"{")
    (squad / f"run-1.json.{running}.part").write_bytes(b"{")
    (squad / "letter.part").write_bytes(b"no number: not ours")
    link(squad / f"link.{gone}.part", tmp_path)
    put(tmp_path / f"squad two.tapmark-{gone}.part")

    assert sorted(left_in_squad(squad)) == sorted(wanted)
    assert sorted(remove_left(left_in_squad(squad))) == sorted(wanted)
    assert left_in_squad(squad) == []


def test_half_a_back_up_is_found_whatever_its_date(tmp_path: Path, gone: int, running: int) -> None:
    left = tmp_path / f"squad 2026-05-14.zip.tapmark-{gone}.part"
    for path in (left, tmp_path / f"b.zip.tapmark-{running}.part", tmp_path / "film.001.part"):
        path.write_bytes(b"PK")

    assert left_zips(tmp_path) == [left]
    assert left_zips(tmp_path / "nowhere") == []


def test_what_has_not_changed_for_two_days_is_left_whoever_has_its_number_now(
    tmp_path: Path, running: int
) -> None:
    path = tmp_path / f"run-1.json.{running}.part"
    path.write_bytes(b"{")
    os.utime(path, (1_778_760_000, 1_778_760_000))  # 14 May 2026

    assert left_in_squad(tmp_path, "2026-05-15") == []
    assert left_in_squad(tmp_path, "2026-05-17") == [path]


def test_the_temporary_folder_of_a_killed_program_goes_with_the_next(
    tmp_path: Path, gone: int, running: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    left, alive = put(tmp_path / f"tapmark-{gone}-ab1"), put(tmp_path / f"tapmark-{running}-ab2")
    strange = put(tmp_path / "tapmark-notes")

    with temporary_folder() as folder:
        assert folder.is_dir() and not left.exists()

    assert sorted(tmp_path.iterdir()) == sorted([alive, strange])


class Kernel:
    """Stands for kernel32: knows which process has which exit code, and whom one may not ask."""

    def __init__(self, codes: dict[int, int], closed_to_us: int) -> None:
        self.codes, self.closed_to_us, self.error, self.open = codes, closed_to_us, 0, 0

    def OpenProcess(self, rights: int, inherit: bool, pid: int) -> int:
        assert rights == 0x1000, "PROCESS_QUERY_LIMITED_INFORMATION: it may not be able to end it"
        self.error = 5 if pid == self.closed_to_us else 0 if pid in self.codes else 87
        self.open += not self.error
        return 0 if self.error else pid

    def GetExitCodeProcess(self, process: int, code: Any) -> int:
        code._obj.value = self.codes[process]  # noqa: SLF001
        return 1

    def CloseHandle(self, process: int) -> int:
        self.open -= 1
        return 1


def test_windows_is_asked_whether_a_process_runs_and_none_is_ended(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """os.kill(pid, 0) ends a process there (Python's documentation of os.kill)."""
    kernel = Kernel({11: 259, 12: 0, 13: 1}, closed_to_us=4)
    monkeypatch.setattr(leftovers.os, "name", "nt")
    monkeypatch.setattr(leftovers.os, "kill", None)
    monkeypatch.setattr(ctypes, "WinDLL", lambda *name, **how: kernel, raising=False)
    monkeypatch.setattr(ctypes, "get_last_error", lambda: kernel.error, raising=False)

    at_work = {pid for pid in (4, 11, 12, 13, 14) if leftovers.is_at_work(pid)}

    assert at_work == {4, 11}, "the system's own and the running one"
    assert kernel.open == 0


def test_a_running_process_is_at_work_and_an_ended_one_is_not(gone: int, running: int) -> None:
    assert leftovers.is_at_work(running) and leftovers.is_at_work(os.getpid())
    assert not leftovers.is_at_work(gone)
