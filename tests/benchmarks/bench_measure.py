"""What measuring costs, as ratios against the bare arithmetic in the same process.

    python -m tests.benchmarks.bench_measure          1, 3 and 10 thousand runs
    python -m tests.benchmarks.bench_measure 500      so many runs only

First: one run through `measure_run` (every row with its ± from about 200 moved copies, reasons,
checks) against bare numpy finding the angles and lengths of all segments, once as tapped and once
in a loop over as many moved copies. Then: runs written as JSON files, read from disk, measured
and written as one CSV file, one at a time, with time and the process's peak memory for each count.
"""

import dataclasses
import json
import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from tapmark.checklist.criteria import load
from tapmark.marks.run import KeyFrame, Run, SetUp, Source, Step, Tap
from tapmark.measures.card import DEFAULT_CARD
from tapmark.measures.compute import measure_run
from tapmark.measures.posture import posture_of
from tapmark.services.measuring import COLUMNS, rows_of_run
from tapmark.store.tables_csv import csv_bytes
from tests.measures.simulated import Filming, marked, runner

COUNTS = (1000, 3000, 10_000)


def best_s(work: Callable[[], object], repeats: int = 7, times: int = 20) -> float:
    """Return the best mean time of one call, in s."""
    found = []
    for _ in range(repeats):
        start = time.perf_counter()
        for _ in range(times):
            work()
        found.append((time.perf_counter() - start) / times)
    return min(found)


def bare(run: Run) -> list[float]:
    """Return angle and length of every segment by plain numpy, without ±, reasons or checks."""
    at = {(f.event, t.point): np.array(t.at_px) for f in run.steps[0].key_frames for t in f.taps}
    values = []
    for event, points in _by_event(at).items():
        for upper, lower in (
            ("hip", "near knee"),
            ("near knee", "near ankle"),
            ("hip", "far knee"),
            ("far knee", "far ankle"),
            ("hip", "shoulder"),
        ):
            if upper in points and lower in points:
                dx, dy = at[event, lower] - at[event, upper]
                values.append(float(np.degrees(np.arctan2(dx, dy))))
                values.append(float(np.hypot(dx, dy)))
    return values


def _by_event(at: dict[tuple[str, str], np.ndarray]) -> dict[str, set[str]]:
    events: dict[str, set[str]] = {}
    for event, point in at:
        events.setdefault(event, set()).add(point)
    return events


def from_file(path: Path) -> Run:
    """Return a run of this benchmark's own plain file; the squad's files are another room's."""
    told = json.loads(path.read_text(encoding="utf-8"))
    step = told["steps"][0]
    frames = tuple(
        KeyFrame(**{**frame, "taps": tuple(_tap(tap) for tap in frame["taps"])})
        for frame in step["key_frames"]
    )
    set_up = {key: _tuples(value) for key, value in told["set_up"].items()}
    source = {key: _tuples(value) for key, value in told["source"].items()}
    return Run(source=Source(**source), set_up=SetUp(**set_up), steps=(Step(frames),))


def _tap(told: dict[str, object]) -> Tap:
    return Tap(**{key: _tuples(value) for key, value in told.items()})  # type: ignore[arg-type]


def _tuples(value: object) -> object:
    return tuple(map(_tuples, value)) if isinstance(value, list) else value


def measured(paths: Iterator[Path], out: Path) -> None:
    """Measure run files one by one into one CSV file; nothing of a run is kept."""
    criteria = load()
    with out.open("wb") as file:
        file.write(csv_bytes(COLUMNS, ()))
        for path in paths:
            rows = rows_of_run(from_file(path), DEFAULT_CARD, criteria)
            table = csv_bytes(COLUMNS, (("", "", path.stem, *cells) for cells in rows))
            file.write(table.split(b"\r\n", 1)[1])


def main() -> None:
    """Print both tables."""
    run, _ = marked(runner(0), Filming(), 0)
    alone, whole = best_s(lambda: bare(run)), best_s(lambda: measure_run(run))
    n_rows = len(posture_of(run, run.steps[0], DEFAULT_CARD).rows)
    looped = n_rows * alone
    print(f"bare numpy, as tapped     {1000 * alone:8.3f} ms")
    print(f"the same, {n_rows} copies     {1000 * looped:8.3f} ms")
    print(f"measure_run               {1000 * whole:8.3f} ms   {whole / looped:5.2f} × the loop")
    counts = tuple(map(int, sys.argv[1:])) or COUNTS
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for i in range(max(counts)):
            told = dataclasses.asdict(marked(runner(i % 50), Filming(), i)[0])
            (folder / f"{i:05d}.json").write_text(json.dumps(told), encoding="utf-8")
        for count in counts:
            start = time.perf_counter()
            measured((folder / f"{i:05d}.json" for i in range(count)), folder / "all.csv")
            lasted = time.perf_counter() - start
            peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
            print(
                f"{count:6d} runs, disk to CSV   {lasted:7.1f} s   "
                f"{1000 * lasted / count:6.2f} s a thousand   peak {peak_mb:5.0f} MB"
            )


if __name__ == "__main__":
    main()
