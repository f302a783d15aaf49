"""Is the right thing chosen, and nothing where nothing is? Roots, fine runners, real steps.

    python -m tests.long.choices FOLDER [COACHES]      300 unless told otherwise

FOLDER holds data/ with the released files of three published runs: tests/measures/published.py.

Roots: a drawn runner of whom one thing lies past its limit, by 0.5, 1.5 and 3 SD between people
(those of tests/long/power.py), marked on three passes at 240 pictures a second. Printed: chosen is
the root / something else / nothing. The true values are those of the drawn figure; the errors of
one coach, all rows together, are put upon them.

Fine runners: drawn sprinters of whom every graded row lies inside its fine band, and made-up ones
anywhere in the 3 SD inside the fine edges. Real steps: the true points of each step, its frames
slipped by one 12.5 % of the time each way, with honest taps; no perspective. The second sprinter
(Haralabidis 2021, one man at 9.81 m/s; released files, our arithmetic) is known by his values only.
"""

import os
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import date
from functools import partial
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from tapmark.checklist.assess import assess_in
from tapmark.checklist.criteria import Criteria, load
from tapmark.checklist.situation import Situation
from tapmark.marks.points import STANDARD
from tapmark.marks.run import KeyFrame, Run, Step, Tap
from tapmark.measures.card import DEFAULT_CARD, kind_of
from tapmark.measures.compute import gathered, measure_run, readings
from tapmark.measures.result import Key, Measured, Results
from tests.drawn_runner.athletes import RUNS_WELL
from tests.long.power import BLOCK, SD_BETWEEN_PEOPLE, from_behind
from tests.measures.published import FILES, STEPS, feet, flat, points_of, run_of_step, table
from tests.measures.simulated import Filming, runner, true_rows, turned_otherwise, visited

TODAY = date(2026, 11, 30)
ADULT = Situation(TODAY, birth_year=1996, pain="no")
LEVELS = (0.5, 1.5, 3.0)
PASSES = 3
Values = dict[Key, float]
Coach = Mapping[Key, Measured]  # rows as one coach measured them, with value − bias = the error


def coaches(n_passes: int, seeds: range) -> list[Coach]:
    """Return what each coach's pooled passes of a drawn sprinter are off, row by row."""
    found = []
    for seed in seeds:
        style = runner(4 * (seed % 50) + seed % 2)
        runs, truth = visited(style, Filming(), seed, n_passes)
        moved = [turned_otherwise(run, style, seed) for run in runs]
        side = [reading for run in runs for reading in readings(run, DEFAULT_CARD, False)]
        rear = [
            r for i in range(PASSES) for r in readings(from_behind(seed, i, 240.0), DEFAULT_CARD)
        ]
        rows = {**gathered(side).rows, **gathered(rear).rows}
        truth["foot_turn", ""] = 5.0
        found.append(
            {
                key: replace(row, value=row.value - truth[key] + _mean_of(key, moved))
                for key, row in rows.items()
                if isinstance(row, Measured) and key in truth
            }
        )
    return found


def _mean_of(key: Key, moved: Sequence[Mapping[Key, float]]) -> float:
    return float(np.mean([each.get(key, 0.0) for each in moved]))


def measured(coach: Coach, truth: Values, context: str = "sprint") -> Results:
    """Return what this coach would have measured of a runner with these true values."""
    rows = {
        key: replace(off, value=truth[key] + off.value)
        for key, off in coach.items()
        if key in truth
    }
    return Results(rows, context=context, n_steps=PASSES)


def chosen(results: Results, criteria: Criteria) -> int:
    """Return the item in the first slot, 0 where there is none."""
    slots = assess_in((results,), ADULT, criteria).slots
    return slots[0].item.number if slots else 0


def posed(**changes: float) -> Values:
    """Return the true values of the drawn sprinter who does this otherwise."""
    return true_rows(replace(RUNS_WELL, **changes)) | {("foot_turn", ""): 1.0}


def _solved(
    row: Key, wanted: float, pose: Callable[[float], Values], low: float, high: float
) -> Values:
    """Return the values of the pose in which a row has that value, by bisection."""
    rises = pose(high)[row] > pose(low)[row]
    for _ in range(40):
        middle = (low + high) / 2
        if (pose(middle)[row] < wanted) == rises:
            low = middle
        else:
            high = middle
    return pose((low + high) / 2)


def roots(k: float) -> Iterator[tuple[str, tuple[int, ...], Values]]:
    """Yield (what is wrong, items that name it, true values) k SD past the limits of a sprint."""
    criteria = load()

    def at(row: str, side: str = "high") -> float:
        limit = getattr(criteria.band(row, "sprint"), f"limit_{side}")
        return float(limit) + (1 if side == "high" else -1) * k * SD_BETWEEN_PEOPLE[row]

    good = posed()
    reach, straight = at("reach"), at("knee_touchdown")
    yield "foot ahead", (1,), posed(reach=reach, knee_touchdown=160.0, knee_mid_stance=143.0)
    both = posed(reach=reach, knee_touchdown=straight, knee_mid_stance=straight - 17)
    yield "straight leg", (1, 2), both
    swing = lambda angle: posed(swing_thigh=angle)  # noqa: E731
    apart = _solved(("knee_separation", "near"), at("knee_separation"), swing, -60.0, 10.0)
    yield "knees apart", (1, 4), apart
    behind = _solved(("separation_behind", "far"), at("separation_behind"), swing, -60.0, 10.0)
    yield "rear leg behind", (4,), behind
    yield "rear leg late", (4,), posed(turn_delay_s=at("turn_delay") / 1000)
    push = {
        ("drive_angle", "near"): at("drive_angle"),
        ("thigh_toe_off", "near"): at("thigh_toe_off", "low"),
    }
    yield "long push", (5,), good | push
    push = {
        ("drive_angle", "near"): at("drive_angle", "low"),
        ("thigh_toe_off", "near"): at("thigh_toe_off"),
    }
    yield "short push", (6,), good | push
    yield "knee pushes", (7,), good | {("hip_share", "near"): at("hip_share", "low")}
    stack = at("leg_stack", "low")
    sitting = lambda mid: posed(  # noqa: E731
        knee_mid_stance=mid, knee_touchdown=mid + 16, reach=35 + mid + 16 - 180
    )
    yield "sitting", (8,), _solved(("leg_stack", "near"), stack, sitting, 110.0, 140.0)
    yield "bent forward", (9,), posed(trunk_lean=at("trunk_lean"))
    yield "leaning back", (10,), posed(trunk_lean=at("trunk_lean", "low"))
    sinking = posed(knee_touchdown=163.0, knee_mid_stance=163.0 - at("knee_bend"))
    yield "sinking", (11,), sinking
    thigh = at("thigh_touchdown")
    yield "front leg hangs", (12,), posed(knee_touchdown=183.0 - thigh, swing_thigh=15.0)
    yield "arms late", (15,), good | {("arm_leg_lag", ""): at("arm_leg_lag")}
    yield "foot turns", (16,), good | {("foot_turn", ""): at("foot_turn")}


def told_of_roots(errors: Sequence[Coach], criteria: Criteria) -> Iterator[str]:
    """Yield the lines of a table: shares chosen as root / wrong / nothing."""
    yield "| root | +0.5 SD | +1.5 SD | +3 SD | wrong at 1.5 |"
    yield "|---|---|---|---|---|"
    cells: dict[str, list[str]] = {}
    for k in LEVELS:
        for name, named, truth in roots(k):
            picks = Counter(chosen(measured(coach, truth), criteria) for coach in errors)
            right = sum(picks[number] for number in named)
            wrong = Counter({n: c for n, c in picks.items() if n and n not in named})
            share = 100.0 / len(errors)
            cell = f"{right * share:.0f} / {wrong.total() * share:.0f} / {picks[0] * share:.0f}"
            cells.setdefault(name, []).append(cell)
            if k == 1.5:
                cells[name].append(", ".join(f"{n}: {c}" for n, c in wrong.most_common(3)) or "–")
    for name, (half, most, wrong_at, three) in cells.items():
        yield f"| {name} | {half} | {most} | {three} | {wrong_at} |"


def fine_runners(criteria: Criteria, n: int) -> Iterator[tuple[str, Values]]:
    """Yield drawn sprinters of whom every graded row is fine, and as many made-up ones."""
    drawn = (true_rows(runner(4 * i + i % 2)) | {("foot_turn", ""): 1.0} for i in range(20 * n))
    fine = (truth for truth in drawn if _is_fine(truth, criteria))
    for i in range(n):
        yield "drawn", next(fine)
        yield "made up", _made_up(criteria, i, posed())


def _is_fine(truth: Values, criteria: Criteria) -> bool:
    for (key, _), value in truth.items():
        band = criteria.band(key, "sprint")
        if band and not band.is_trend_only:
            low = -np.inf if band.fine_low is None else band.fine_low
            high = np.inf if band.fine_high is None else band.fine_high
            if not low <= value <= high:
                return False
    return True


def _made_up(criteria: Criteria, seed: int, like: Values) -> Values:
    """Return values drawn evenly from the 3 SD inside the fine edges, the same for both legs."""
    random, truth = np.random.default_rng([seed, 77]), dict(like)
    places = {key: random.uniform() for key in criteria.graded}
    for key, leg in like:
        band = criteria.band(key, "sprint")
        if band and not band.is_trend_only:
            room = 3 * SD_BETWEEN_PEOPLE[key]
            low = band.fine_high - room if band.fine_low is None else band.fine_low
            high = low + room if band.fine_high is None else band.fine_high
            truth[key, leg] = low + places[key] * (high - low)
    return truth


SECOND_SPRINTER = {  # Haralabidis 2021, both feet averaged; near and far leg alike
    "reach": 4.8,
    "ankle_hip": 27.7,
    "knee_touchdown": 151.5,
    "thigh_touchdown": 33.5,
    "knee_separation": 3.5,
    "separation_behind": -18.7,
    "swing_thigh": 24.2,
    "trunk_lean": 11.1,
    "leg_stack": 95.3,
    "knee_bend": 3.5,
    "fold": 36.8,
    "thigh_toe_off": -23.4,
    "hip_share": 81.0,
    "turn_delay": 21.0,
    "drive_angle": 30.6,
    "peak_thigh": 80.6,
    "arm_leg_lag": -22.0,
}


def real_step(folder: Path, who: str, i_step: int, seed: int, context: str) -> Run:
    """Return one coach's marking of a published step."""
    random = np.random.default_rng([seed, i_step])
    name, hz = FILES[who]
    near, far, rows = feet(who, i_step)
    sign, file = (1 if near == "right" else -1), table(folder / "data" / name)
    true = run_of_step(folder, who, i_step)
    leg_px = 400.0 * 0.92
    frames = []
    for event, number in zip(STANDARD, rows, strict=True):
        number += int(random.choice((-1, 0, 1), p=(0.125, 0.75, 0.125)))
        at = points_of(file[number], near, far)
        taps = []
        for point, place in at.items():
            x, y = flat(place, sign)
            dx, dy = random.normal(0.0, DEFAULT_CARD.sd_pct_leg(kind_of(point)) / 100 * leg_px, 2)
            taps.append(Tap(point, (x + dx, y + dy)))
        frames.append(KeyFrame(event, number, (number - 1) / hz, 1 / hz, taps=tuple(taps)))
    set_up = replace(true.set_up, context=context)
    return replace(true, set_up=set_up, steps=(Step(tuple(frames)),))


def real_steps(folder: Path, n: int, criteria: Criteria) -> Iterator[str]:
    """Yield a line for each published run: how many marked steps get a proposal."""
    for who, context, name in (
        ("S", "sprint", "sprinter at 9.5 m/s"),
        ("T", "sprint", "distance runner at 5 m/s, called a sprint"),
        ("T", "race pace", "distance runner at 5 m/s"),
        ("J", "sprint", "the sprinter's jog, called a sprint"),
    ):
        picks: Counter[int] = Counter()
        n_steps = len(STEPS[who].split("/"))
        usable = [i for i in range(n_steps) if _has_frames(folder, who, i)]
        for seed in range(n):
            run = real_step(folder, who, usable[seed % len(usable)], seed, context)
            picks[chosen(measure_run(run, with_checks=False), criteria)] += 1
        yield f"| {name} | {100 * (1 - picks[0] / n):.1f} | {_named(picks)} |"


def _has_frames(folder: Path, who: str, i_step: int) -> bool:
    file, rows = table(folder / "data" / FILES[who][0]), feet(who, i_step)[2]
    return all(number + by in file for number in rows for by in (-1, 1))


def _named(picks: Counter[int]) -> str:
    return ", ".join(f"item {n}: {c}" for n, c in picks.most_common() if n) or "–"


def main() -> None:
    """Print the tables."""
    folder, n = Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 300
    criteria = load()
    blocks = [range(i, min(i + BLOCK, n)) for i in range(0, n, BLOCK)]
    with ProcessPoolExecutor(os.cpu_count(), get_context("spawn")) as pool:
        by_passes = {
            passes: [each for part in pool.map(partial(coaches, passes), blocks) for each in part]
            for passes in (1, PASSES)
        }
    print(f"\nRoots, 3 passes at 240/s, {n} coaches: root / wrong / nothing, %\n")
    print("\n".join(told_of_roots(by_passes[PASSES], criteria)), flush=True)
    print("\nShare of runners who get a proposal, %\n\n| runners | share | chosen |\n|---|---|---|")
    fine = list(fine_runners(criteria, 250))
    for passes, errors in by_passes.items():
        picks: dict[str, Counter[int]] = {"drawn": Counter(), "made up": Counter()}
        for i, (kind, truth) in enumerate(4 * fine):  # four coaches each
            picks[kind][chosen(measured(errors[i // 2 % n], truth), criteria)] += 1
        for kind, found in picks.items():
            share = 100 * (1 - found[0] / found.total())
            name = f"1,000 fine, {kind}, {passes} passes"
            print(f"| {name} | {share:.1f} | {_named(found)} |", flush=True)
    second = {
        (key, leg): value for key, value in SECOND_SPRINTER.items() for leg in ("near", "far", "")
    }
    found = Counter(chosen(measured(coach, second), criteria) for coach in by_passes[1])
    print(
        f"| sprinter at 9.8 m/s, by his values | {100 * (1 - found[0] / n):.1f} | {_named(found)} |"
    )
    print("\n".join(real_steps(folder, n, criteria)))


if __name__ == "__main__":
    main()
