"""One writer a run, told by name, and no crash leaves a lock in the way."""

import errno
import json
import os
import subprocess
import sys
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tapmark.errors import CannotWrite, HeldByAnother
from tapmark.store.lock import lock_path, take_lock
from tests.links import link
from tests.store import made

NOW = datetime(2026, 5, 14, 20, 30)
HOLD = """
import sys
from datetime import datetime
from pathlib import Path
from tapmark.store.lock import take_lock
lock = take_lock(Path(sys.argv[1]), "the other window", datetime(2026, 5, 14, 20, 5))
print("held", flush=True)
sys.stdin.read()
"""


@pytest.fixture
def run_path(tmp_path: Path) -> Path:
    path = tmp_path / "run-1.json"
    path.write_bytes(b"{}")
    return path


def other_program(run_path: Path) -> subprocess.Popen[str]:
    """A program that holds the run until its standard input is closed."""
    root = Path(__file__).parents[2]
    holds = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(run_path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        encoding="utf-8",
        cwd=root,
    )
    assert holds.stdout is not None and holds.stdout.readline() == "held\n"
    return holds


def told_in(run_path: Path) -> dict[str, object]:
    """What the lock file of a run says."""
    return json.loads(lock_path(run_path).read_text("utf-8"))


def end(program: subprocess.Popen[str]) -> None:
    program.communicate()


def test_a_second_window_is_told_who_holds_the_run_and_since_when(run_path: Path) -> None:
    with take_lock(run_path, "Tapmark window", NOW) as lock:
        with pytest.raises(HeldByAnother) as caught:
            take_lock(run_path, "Tapmark window", NOW + timedelta(minutes=5))
        assert told_in(run_path) == lock.holder.__dict__

    assert str(caught.value) == (
        f"Run 1 is open in another window: Tapmark window (process {os.getpid()}) since 20:30. "
        "Close it there to change it here; until then it can be looked at."
    )


def test_nothing_is_left_when_a_run_is_given_free(run_path: Path) -> None:
    lock = take_lock(run_path, "one", NOW)
    lock.release()
    lock.release()

    assert list(made.contents(run_path.parent)) == ["run-1.json"]
    take_lock(run_path, "two", NOW).release()


def test_another_program_holds_its_lock(run_path: Path) -> None:
    other = other_program(run_path)
    try:
        with pytest.raises(HeldByAnother, match=rf"the other window \(process {other.pid}\)"):
            take_lock(run_path, "one", NOW)
        with pytest.raises(HeldByAnother):
            take_lock(run_path, "one", NOW, take_over=True)
    finally:
        end(other)
    take_lock(run_path, "one", NOW).release()


def test_a_killed_program_leaves_no_lock_and_no_half_file_in_the_way(run_path: Path) -> None:
    other = other_program(run_path)
    (run_path.parent / f"run-1.json.{other.pid}.part").write_bytes(b"half")
    other.kill()
    end(other)
    assert lock_path(run_path).exists()

    take_lock(run_path, "one", NOW).release()

    assert list(made.contents(run_path.parent)) == ["run-1.json"]


def copied_lock(run_path: Path, since: datetime) -> None:
    """What a program that copies folders leaves of another computer's lock."""
    facts = {"program": "Tapmark window", "pid": 7, "since": since.isoformat(), "file_number": 1}
    lock_path(run_path).write_text(json.dumps(facts), "utf-8")


def test_a_lock_copied_from_another_computer_counts_for_half_a_day(run_path: Path) -> None:
    copied_lock(run_path, NOW - timedelta(hours=3))
    with pytest.raises(HeldByAnother, match=r"perhaps on another computer.* since 17:30\."):
        take_lock(run_path, "one", NOW)

    take_lock(run_path, "one", NOW + timedelta(hours=10)).release()


def test_a_coach_who_knows_better_takes_over(run_path: Path) -> None:
    copied_lock(run_path, NOW)

    with take_lock(run_path, "one", NOW, take_over=True) as lock:
        assert told_in(run_path) == lock.holder.__dict__


def test_a_lock_from_a_clock_far_ahead_is_forgotten(run_path: Path) -> None:
    copied_lock(run_path, NOW + timedelta(days=400))

    take_lock(run_path, "one", NOW).release()


@pytest.mark.parametrize("junk", ["", "[", "[]", '{"program": 1}', '{"pid": "x"}', "\x00" * 99])
def test_a_lock_file_that_says_nothing_is_taken(junk: str, run_path: Path) -> None:
    lock_path(run_path).write_text(junk, "utf-8")

    with take_lock(run_path, "one", NOW) as lock:
        assert lock.holder.program == "one"


def test_a_day_old_lock_is_told_with_its_date(run_path: Path) -> None:
    with take_lock(run_path, "one", NOW), pytest.raises(HeldByAnother, match="14 May 2026, 20:30"):
        take_lock(run_path, "two", NOW + timedelta(days=2))


def test_where_no_lock_can_be_put_the_reason_is_told(tmp_path: Path) -> None:
    with pytest.raises(CannotWrite, match="the folder is gone"):
        take_lock(tmp_path / "gone" / "run-1.json", "one", NOW)


def test_a_link_in_the_place_of_the_lock_is_not_followed(run_path: Path) -> None:
    outside = run_path.parent / "outside"
    outside.write_bytes(b"mine")
    link(lock_path(run_path), outside)

    with pytest.raises(CannotWrite, match="it is a link"):
        take_lock(run_path, "one", NOW)
    assert outside.read_bytes() == b"mine"


def test_two_runs_are_held_apart(run_path: Path) -> None:
    with take_lock(run_path, "one", NOW), take_lock(run_path.with_name("run-2.json"), "two", NOW):
        assert told_in(run_path) != told_in(run_path.with_name("run-2.json"))
    assert not lock_path(run_path).exists()


def test_a_lock_that_its_holder_removes_meanwhile_is_made_anew(
    run_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, times = os.path.samestat, iter([False, False])
    monkeypatch.setattr(os.path, "samestat", lambda a, b: next(times, None) is None and real(a, b))

    with take_lock(run_path, "one", NOW) as lock:
        assert told_in(run_path) == lock.holder.__dict__
    assert list(made.contents(run_path.parent)) == ["run-1.json"]


def test_a_lock_that_never_stays_put_is_given_up(
    run_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os.path, "samestat", lambda a, b: False)

    with pytest.raises(HeldByAnother, match="another program"):
        take_lock(run_path, "one", NOW)


def test_a_full_disk_lets_nobody_hold_a_run_and_leaves_nothing(
    run_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> int:
        raise OSError(errno.ENOSPC, "full")

    with monkeypatch.context() as broken, pytest.raises(CannotWrite, match="the disk is full"):
        broken.setattr(os, "write", full)
        take_lock(run_path, "one", NOW)

    assert list(made.contents(run_path.parent)) == ["run-1.json"]
    take_lock(run_path, "one", NOW).release()


@pytest.mark.skipif(sys.platform == "win32", reason="fcntl is not there on Windows")
@pytest.mark.parametrize(("code", "is_held"), [(errno.ENOLCK, True), (errno.EIO, False)])
def test_a_disk_without_locks_is_trusted_and_a_faulty_one_is_not(
    code: int, is_held: bool, run_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import fcntl

    def refuse(*_: object) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(fcntl, "flock", refuse)
    if is_held:
        take_lock(run_path, "one", NOW).release()
        return
    with pytest.raises(CannotWrite, match="This disk cannot lock files"):
        take_lock(run_path, "one", NOW)
