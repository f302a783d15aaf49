"""What a killed program leaves is removed by the next; what a running one makes is not."""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from tapmark import leftovers
from tapmark.leftovers import half_made, left_in_squad, left_zips, remove_left, temporary_folder


@pytest.fixture
def gone() -> int:
    """The number of a process that has ended."""
    with subprocess.Popen([sys.executable, "-c", ""]) as program:
        program.wait()
    return program.pid


@pytest.fixture
def running() -> int:
    """The number of a process that runs: the one that started us."""
    return os.getppid()


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
    (squad / f"link.{gone}.part").symlink_to(tmp_path)
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


def test_on_windows_nobody_is_asked_whether_a_process_runs(
    tmp_path: Path, gone: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """os.kill(pid, 0) stops a process there (Python's documentation of os.kill)."""
    monkeypatch.setattr(leftovers.os, "name", "nt")
    monkeypatch.setattr(leftovers.os, "kill", None)

    assert leftovers.is_at_work(gone)
