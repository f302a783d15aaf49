"""A squad of 60 athletes and 1,000 runs: python -m tests.benchmarks.bench_squad [N_RUNS]

Every time is given as a ratio to reading the same JSON files with the standard library, in the
same process, and for a quarter, a half and the whole of the runs: a ratio that stays means time
linear in runs.
"""

import json
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from statistics import median

from tapmark.marks.run import Run, Tap
from tapmark.services.exports import season_table
from tapmark.services.group import group_of, write_group
from tapmark.services.samples import read_truth
from tapmark.services.squads import describe, open_for_work
from tapmark.store import archive, check, rota
from tapmark.store.squad import Squad, all_runs, make_squad, open_squad
from tests.drawn_runner.coach import tapping_error
from tests.drawn_runner.runs import marked_run
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


def one_visit_each(folder: Path, n_athletes: int) -> Squad:
    """A squad of many athletes with one visit and one run each, copied file by file."""
    squad = make_squad(folder, "bench")
    squad.save_athlete(consenting("K0"))
    squad.new_run("K0", "2026-05-14", invented_run(0))
    first = squad.athlete_folder("K0")
    for i in range(1, n_athletes):
        copy = shutil.copytree(first, first.with_name(f"K{i}"))
        for path in (copy / "athlete.json", copy / "2026-05-14" / "visit.json"):
            path.write_text(path.read_text("utf-8").replace('"K0"', f'"K{i}"'), "utf-8")
    return squad


def median_s(action: Callable[[Path], object], folder: Path) -> float:
    """The median of three, after one to warm up, in seconds of this process."""
    times = []
    for _ in range(4):
        began = time.process_time()
        action(folder)
        times.append(time.process_time() - began)
    return median(times[1:])


def many_athletes(n_athletes: int) -> None:
    """Print what `tapmark squad` costs for many athletes, against reading the same JSON."""
    print(f"{'athletes':>8} {'JSON alone':>12}  {'squad':>8}  medians of CPU time")
    for n in (n_athletes // 4, n_athletes // 2, n_athletes):
        with tempfile.TemporaryDirectory() as folder:
            squad = one_visit_each(Path(folder) / "squad", n)
            bare = median_s(read_json, squad.folder)
            words = median_s(lambda at: list(describe(at, DAY, lambda _: None)), squad.folder)
            print(
                f"{n:>8} {bare * 1000:>9.0f} ms  {words / bare:>7.1f}×  {words:.1f} s", flush=True
            )


def fastest_s(action: Callable[[Path], object], folder: Path) -> float:
    """The best of three, after one to warm up."""
    times = []
    for _ in range(4):
        began = time.perf_counter()
        action(folder)
        times.append(time.perf_counter() - began)
    return min(times[1:])


def main() -> None:
    n_runs = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    print(f"{'runs':>6} {'JSON alone':>12}  " + "  ".join(f"{name:>16}" for name in DEEDS))
    for n in (n_runs // 4, n_runs // 2, n_runs):
        with tempfile.TemporaryDirectory() as folder:
            squad = invented_squad(Path(folder) / "squad", n)
            bare = fastest_s(read_json, squad.folder)
            ratios = (fastest_s(action, squad.folder) / bare for action in DEEDS.values())
            cells = "  ".join(f"{ratio:>15.1f}×" for ratio in ratios)
            print(f"{n:>6} {bare * 1000:>9.0f} ms  {cells}", flush=True)
    many_athletes(2 * n_runs)


if __name__ == "__main__":
    main()
