"""Twenty kills; the thousand are python -m tests.long.kills."""

import errno
from pathlib import Path

import pytest

from tests.long import kills_in_copies
from tests.long.kills import fill_disk, kill_many, make_read_only, run_with_fault
from tests.long.marking import N_TAPS


def test_no_acknowledged_tap_is_lost_in_twenty_kills(tmp_path: Path) -> None:
    """The power goes in the middle of marking."""
    outcomes = kill_many(20, 7, tmp_path / "squad")

    assert len(outcomes) == 20
    assert len({outcome.acknowledged for outcome in outcomes}) > 5


@pytest.mark.parametrize(
    "fault",
    [
        f"write:7:{errno.ENOSPC}",
        f"fsync:14:{errno.EIO}",
        f"fsync:15:{errno.EIO}",
        f"replace:7:{errno.EROFS}",
        f"open:14:{errno.EMFILE}",
    ],
)
def test_a_call_that_fails_once_costs_no_tap(fault: str, tmp_path: Path) -> None:
    acknowledged, said = run_with_fault(tmp_path / "squad", fault)

    assert acknowledged == N_TAPS
    assert said.count("refused") == 1


def test_a_call_that_fails_for_good_keeps_what_was_acknowledged(tmp_path: Path) -> None:
    acknowledged, said = run_with_fault(tmp_path / "squad", f"replace:9+:{errno.ENOSPC}")

    assert acknowledged == 8
    assert "the disk is full" in said


def test_a_full_disk_costs_no_acknowledged_tap() -> None:
    assert "all there" in fill_disk()


def test_a_disk_that_turns_read_only_costs_no_acknowledged_tap() -> None:
    assert "all there" in make_read_only()


@pytest.mark.long
def test_backup_restore_delete_and_merge_are_whole_or_told_after_a_kill(tmp_path: Path) -> None:
    """One kill each, of real programs; the long version is tests.long.kills_in_copies."""
    outcomes = kills_in_copies.kill_many(1, seed=7, folder=tmp_path)

    assert [sum(found.values()) for found in outcomes.values()] == [1, 1, 1, 1]
