"""A squad of 60 athletes and 1,000 runs: python -m tests.benchmarks.bench_squad [N_RUNS]

Every time is given as a ratio to reading the same JSON files with the standard library, in the
same process, and for a quarter, a half and the whole of the runs: a ratio that stays means time
linear in runs.
"""

import json
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from tapmark.errands.exports import season_table
from tapmark.errands.group import group_of, write_group
from tapmark.errands.opening import open_for_work
from tapmark.errands.sample_runs import marked_run, read_truth
from tapmark.marks.run import Run, Tap
from tapmark.practice.coach import tapping_error
from tapmark.store import archive, check, rota
from tapmark.store.squad import Squad, make_squad, open_squad
from tapmark.store.walk import all_runs
from tests.store.made import consenting

SAMPLES = Path(__file__).parents[2] / "sample_frames"
N_ATHLETES = 60
TODAY = "2026-09-30"
DAY = date.fromisoformat(TODAY)


def invented_run(seed: int) -> Run:
    """One of the two drawn runners, tapped anew by a seeded coach."""
    truth = read_truth(SAMPLES, ("P01", "P02")[seed % 2])
    run = marked_run(truth)
    points = {
        event: {name: tuple(at) for name, at in still["points"].items()}
        for event, still in truth["stills"].items()
    }
    leg_px = truth["picture"]["px_per_m"] * truth["athlete"]["leg_length_cm"] / 100
    taps = tapping_error(points, seed, leg_px)
    (step,) = run.steps
    frames = tuple(
        replace(frame, taps=tuple(Tap(t.point, taps[frame.event][t.point]) for t in frame.taps))
        for frame in step.key_frames
    )
    return replace(run, steps=(replace(step, key_frames=frames),))


def invented_squad(folder: Path, n_runs: int) -> Squad:
    """A squad whose runs are spread over its athletes, two a visit."""
    squad = make_squad(folder, "bench")
    for i in range(N_ATHLETES):
        squad.save_athlete(consenting(f"K{i:02}"))
    for i in range(n_runs):
        day = date(2026, 1, 5) + timedelta(days=14 * (i // (2 * N_ATHLETES)))
        squad.new_run(f"K{i % N_ATHLETES:02}", day.isoformat(), invented_run(i))
    return squad


def read_json(folder: Path) -> int:
    """The bare operation: every JSON file of the squad through the standard library."""
    paths = list(folder.rglob("*.json"))
    for path in paths:
        json.loads(path.read_bytes())
    return len(paths)


def squad_page(folder: Path) -> int:
    """What the squad page needs: the rota, and the last visit of everybody."""
    squad = open_squad(folder)
    lines = rota.rota(squad, TODAY)
    return sum(len(squad.visit(line.code, line.last).runs) for line in lines)


def every_visit(folder: Path) -> int:
    """Read the visits of everybody."""
    squad = open_squad(folder)
    return sum(len(squad.visits(code)) for code in squad.codes())


DEEDS: dict[str, Callable[[Path], object]] = {
    "squad page": squad_page,
    "opened to work": lambda folder: open_for_work(folder, DAY),
    "group content": lambda folder: group_of(open_squad(folder), DAY),
    "group sheet": lambda folder: write_group(open_squad(folder), DAY),
    "season table": lambda folder: season_table(squad := open_squad(folder), squad.codes(), DAY),
    "every visit": every_visit,
    "every run": lambda folder: list(all_runs(open_squad(folder))),
    "check": lambda folder: check.check_squad(open_squad(folder)),
    "back-up, checked": lambda folder: archive.back_up(
        open_squad(folder), folder.parent / "b.zip", TODAY
    ),
}


def fastest_s(deed: Callable[[Path], object], folder: Path) -> float:
    """The best of three, after one to warm up."""
    times = []
    for _ in range(4):
        began = time.perf_counter()
        deed(folder)
        times.append(time.perf_counter() - began)
    return min(times[1:])


def main() -> None:
    n_runs = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    print(f"{'runs':>6} {'JSON alone':>12}  " + "  ".join(f"{name:>16}" for name in DEEDS))
    for n in (n_runs // 4, n_runs // 2, n_runs):
        with tempfile.TemporaryDirectory() as folder:
            squad = invented_squad(Path(folder) / "squad", n)
            bare = fastest_s(read_json, squad.folder)
            ratios = (fastest_s(deed, squad.folder) / bare for deed in DEEDS.values())
            cells = "  ".join(f"{ratio:>15.1f}×" for ratio in ratios)
            print(f"{n:>6} {bare * 1000:>9.0f} ms  {cells}", flush=True)


if __name__ == "__main__":
    main()
