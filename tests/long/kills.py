"""Kill the marking of a run at random moments: python -m tests.long.kills [N] [SEED] [N_WINDOW]

After every kill: each acknowledged tap is there, the run opens, and no half written file or lock
is left in the way. The same N_WINDOW times (40 unless told) with the real window, killed within
40 ms of a tap being painted; for that a screen is needed, and the output says when there is none.
Then the same with a full disk and with a disk that can only be read, on a
small file system in memory where this computer lets us make one, else by faults put into the
system calls; the output says which.
"""

import contextlib
import errno
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from tapmark.errors import CannotWrite, TapmarkError
from tapmark.marks.people import Athlete
from tapmark.marks.run import Run
from tapmark.store.consent import give
from tapmark.store.open_run import open_run
from tapmark.store.squad import make_squad, open_squad
from tests.app.made import put_marked_run
from tests.long import marking_window
from tests.long.marking import N_TAPS, NOW, WHERE, after_each_tap, fresh_squad, n_taps

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Outcome:
    """What one killed program had acknowledged, what was found, and whether a write was torn."""

    acknowledged: int
    found: int
    left_half: bool


def start(folder: Path, *fault: str) -> subprocess.Popen[str]:
    """Start the scripted marking on a squad."""
    return subprocess.Popen(
        [sys.executable, "-m", "tests.long.marking", str(folder), *fault],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
        env={**os.environ, "PYTHONIOENCODING": "cp1252"},  # what a pipe has on Windows
        cwd=ROOT,
    )


def kill_once(folder: Path, dice: random.Random) -> Outcome:
    """Mark, kill at a random moment, and see what is left; raise AssertionError for any loss."""
    program = start(folder)
    assert program.stdout is not None and program.stderr is not None
    before = int(program.stdout.readline().split()[1])
    wanted = dice.randint(before, N_TAPS)
    acknowledged = before
    while acknowledged < wanted:
        acknowledged = int(program.stdout.readline())
    time.sleep(dice.uniform(0, 0.004))
    program.kill()
    acknowledged = max([acknowledged, *map(int, program.stdout.read().split())])
    errors = program.stderr.read()
    program.stdout.close()
    program.stderr.close()
    program.wait()
    assert not errors, errors
    left_half = any(folder.rglob("*.part"))
    return Outcome(acknowledged, look(folder, acknowledged), left_half)


def look(folder: Path, acknowledged: int) -> int:
    """Open the squad as after a crash and return the number of taps found."""
    squad = open_squad(folder)
    with open_run(squad, *WHERE, "after the crash", NOW) as held:
        found = n_taps(held.run)
        assert found >= acknowledged, f"{acknowledged} taps were acknowledged, {found} are there"
        assert found <= acknowledged + 1, "a tap that nobody placed"
        assert held.run == list(after_each_tap())[found], "the run is not what was marked"
    left = sorted(path.name for path in squad.run_path(*WHERE).parent.iterdir())
    assert left == ["run-1.json", "visit.json"], f"left in the way: {left}"
    return found


def kill_many(n_kills: int, seed: int, folder: Path) -> list[Outcome]:
    """Kill n times; a run that was marked to its end starts again from nothing."""
    dice, outcomes = random.Random(seed), []
    squad = fresh_squad(folder)
    for _ in range(n_kills):
        outcome = kill_once(folder, dice)
        outcomes.append(outcome)
        if outcome.found == N_TAPS or dice.random() < 0.2:
            squad.load_run(*WHERE)
            squad.save_run(*WHERE, next(after_each_tap()))
    return outcomes


def squad_for_window(folder: Path) -> Run:
    """Make a squad whose run has its clip and its key frames and no tap; return the run."""
    squad = make_squad(folder / "squad", "Tuesday")
    for_all = Athlete("P02", 1998)
    squad.save_athlete(give(for_all, "film", "K. M.", "2026-05-01", "2036-05-01"))
    name = put_marked_run(squad.folder, marking_window.truth())
    assert name == marking_window.WHERE[2]
    run = squad.load_run(*marking_window.WHERE)
    bare = tuple(replace(frame, taps=()) for frame in run.steps[0].key_frames)
    run = replace(run, steps=(replace(run.steps[0], key_frames=bare),))
    squad.save_run(*marking_window.WHERE, run)
    return run


def kill_window_once(folder: Path, dice: random.Random) -> Outcome:
    """Mark in the real window, kill it soon after a tap was painted, and see what is left."""
    with (folder / "errors").open("w") as errors:
        program = subprocess.Popen(
            [sys.executable, "-m", "tests.long.marking_window", str(folder)],
            stdout=subprocess.PIPE,
            stderr=errors,
            encoding="utf-8",
            cwd=ROOT,
        )
    assert program.stdout is not None
    painted = int(program.stdout.readline() or -1)
    assert painted >= 0, (folder / "errors").read_text("utf-8")
    wanted = min(N_TAPS, painted + dice.randint(1, 4))
    while painted < wanted:
        painted = int(program.stdout.readline())
    time.sleep(dice.uniform(0, 0.04))
    program.kill()
    painted = max([painted, *map(int, program.stdout.read().split())])
    program.stdout.close()
    program.wait()
    left_half = any((folder / "squad").rglob("*.part"))
    with open_run(open_squad(folder / "squad"), *marking_window.WHERE, "after", NOW) as held:
        found = n_taps(held.run)
    assert found >= painted, f"{painted} taps were painted, {found} are there"
    assert found <= painted + 1, "a tap that nobody placed"
    return Outcome(painted, found, left_half)


def kill_window_many(n_kills: int, seed: int, folder: Path) -> list[Outcome]:
    """Kill the window n times; a run that was marked to its end starts again from nothing."""
    dice, outcomes, bare = random.Random(seed), [], squad_for_window(folder)
    for _ in range(n_kills):
        outcome = kill_window_once(folder, dice)
        outcomes.append(outcome)
        if outcome.found == N_TAPS:
            open_squad(folder / "squad").save_run(*marking_window.WHERE, bare)
    return outcomes


def run_with_fault(folder: Path, fault: str) -> tuple[int, str]:
    """Mark with one failing call; return taps acknowledged and what was said in the end."""
    fresh_squad(folder)
    said, errors = start(folder, fault).communicate()
    numbers = [int(line) for line in said.split("\n") if line.isdigit()]
    look(folder, max(numbers, default=0))
    return max(numbers, default=0), said + errors


@contextlib.contextmanager
def small_disk(kilobytes: int) -> Iterator[Path | None]:
    """A file system of that size in memory, or None where this computer does not let us."""
    folder = Path(tempfile.mkdtemp())
    options = f"size={kilobytes}k"
    command = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(folder)]
    try:
        is_made = subprocess.run(command, capture_output=True, check=False).returncode == 0
    except OSError:
        is_made = False
    try:
        yield folder if is_made else None
    finally:
        if is_made:
            subprocess.run(["umount", str(folder)], check=False)
        folder.rmdir()


def fill_disk() -> str:
    """Fill the disk while marking, free it again, and see that nothing acknowledged was lost."""
    with small_disk(120) as disk:
        if disk is None:
            with tempfile.TemporaryDirectory() as folder:
                n, said = run_with_fault(Path(folder) / "squad", f"write:9+:{errno.ENOSPC}")
            assert "the disk is full" in said
            return f"full disk, by fault injection: {n} taps acknowledged, all there"
        squad = fresh_squad(disk / "squad")
        acknowledged = _mark_until_full(disk)
        assert look(squad.folder, acknowledged) == acknowledged
        return f"full disk, on a small tmpfs: {acknowledged} taps acknowledged, all there"


def _mark_until_full(disk: Path) -> int:
    """Save taps while a ballast file grows; return the last tap that was acknowledged."""
    acknowledged, was_refused = 0, False
    with open_run(open_squad(disk / "squad"), *WHERE, "filling", NOW) as held:
        with (disk / "ballast").open("wb", buffering=0) as ballast:
            for run in list(after_each_tap())[1:]:
                with contextlib.suppress(OSError):
                    ballast.write(bytes(4096))
                try:
                    held.save(run)
                except CannotWrite as error:
                    assert "the disk is full" in str(error)
                    was_refused = True
                    break
                acknowledged = n_taps(run)
        assert was_refused, "the disk never filled"
        (disk / "ballast").unlink()
    return acknowledged


def make_read_only() -> str:
    """Turn the disk read-only while marking, and see that nothing acknowledged was lost."""
    with small_disk(400) as disk:
        if disk is None:
            with tempfile.TemporaryDirectory() as folder:
                n, said = run_with_fault(Path(folder) / "squad", f"open:9+:{errno.EROFS}")
            assert "the disk can only be read" in said
            return f"read-only, by fault injection: {n} taps acknowledged, all there"
        squad = fresh_squad(disk / "squad")
        steps = list(after_each_tap())
        with open_run(squad, *WHERE, "window", NOW) as held:
            held.save(steps[7])
        _remount(disk, "ro")  # refused while a lock is held, so the window lets go first
        assert "can only be read" in _told(lambda: open_run(squad, *WHERE, "window", NOW))
        assert "can only be read" in _told(lambda: squad.save_run(*WHERE, steps[8]))
        assert open_squad(squad.folder).load_run(*WHERE) == steps[7]
        _remount(disk, "rw")
        return f"read-only, on a small tmpfs: {look(squad.folder, 7)} taps acknowledged, all there"


def _remount(disk: Path, how: str) -> None:
    subprocess.run(["mount", "-o", f"remount,{how}", str(disk)], check=True)


def _told(action: Callable[[], object]) -> str:
    try:
        action()
    except TapmarkError as error:
        return str(error)
    raise AssertionError("nothing was refused")


def kill_windows(n_kills: int, seed: int) -> str:
    """Kill the window so often where there is a screen; return what came of it."""
    if sys.platform == "linux" and not os.environ.get("DISPLAY"):
        return "no screen: the window was NOT killed"
    with tempfile.TemporaryDirectory() as folder:
        outcomes = kill_window_many(n_kills, seed, Path(folder))
    return f"{len(outcomes)} kills of the window within 40 ms of a tap: every painted tap was there"


def main() -> None:
    n_kills = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    with tempfile.TemporaryDirectory() as folder:
        began = time.monotonic()
        outcomes = kill_many(n_kills, seed, Path(folder) / "squad")
    unsaid = sum(outcome.found > outcome.acknowledged for outcome in outcomes)
    torn = sum(outcome.left_half for outcome in outcomes)
    print(
        f"{n_kills} kills (seed {seed}) in {time.monotonic() - began:.0f} s: every acknowledged "
        f"tap was there. {torn} kills tore a write in two; after {unsaid} a tap was on the disk "
        "that nobody had been told of."
    )
    print(kill_windows(int(sys.argv[3]) if len(sys.argv) > 3 else 40, seed))
    print(fill_disk())
    print(make_read_only())


if __name__ == "__main__":
    main()
