"""How often is which word said? Seeded coaches mark drawn runners; every graded row is judged.

    python -m tests.long.power [COACHES]      500 a way of filming unless told otherwise

One coach marks up to three passes of one runner in one set-up, with the errors of
tests/measures/simulated.py, and the runner's limbs turn at rates of their own. The error of each
value, its known bias taken off, is then put upon true values well inside the fine band, midway from
fine to limit, at the limit, and past it; the word is the program's own. Errors are taken to be the
same wherever the runner stands.

Printed for each row, leg, pictures a second and number of passes:

    z        SD of (corrected − truth) ÷ u′; 1 where the doubt is right
    inside, midway, at, past   shares called seen / likely / near the line / can't tell / fine, in %

Well inside is 1.5 SD between people inside the fine edge, past is 1.5 SD past the limit. SDs: nine
distance runners at 5 m/s (Hamner & Delp 2013, 10.1016/j.jbiomech.2012.11.024, released files, our
arithmetic); turn of the foot: joggers (Souza 2015, PM&R 7:823). Nobody has published them for
sprinters.
"""

import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from math import cos, radians, sin
from multiprocessing import get_context
from typing import NamedTuple

import numpy as np

from tapmark.checklist.criteria import Criteria, load
from tapmark.checklist.judge import judge_value
from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    LIKELY,
    NEAR_THE_LINE,
    SEEN,
    Band,
)
from tapmark.marks.run import LEFT_TO_RIGHT, KeyFrame, Run, SetUp, Source, Step, Tap
from tapmark.measures.card import DEFAULT_CARD
from tapmark.measures.compute import gathered, readings
from tapmark.measures.doubts import shoe_sd_px
from tapmark.measures.result import Key, Measured
from tests.measures.simulated import Filming, Habits, runner, turned_otherwise, visited

WORDS = (SEEN, LIKELY, NEAR_THE_LINE, CANT_TELL, FINE)
RATES = (240.0, 120.0, 60.0)
MOST_PASSES = 3
BLOCK = 50
KINDS = {"sprint": (0, 1), "race pace": (2,)}  # which of simulated.RUNNERS run so
# Hamner & Delp 2013, foot turn Souza 2015: see above. What a study is made of is ours.
SD_BETWEEN_PEOPLE = {
    "reach": 3.0,
    "ankle_hip": 3.2,
    "knee_touchdown": 4.5,
    "thigh_touchdown": 3.1,
    "knee_separation": 4.9,
    "separation_behind": 3.6,
    "swing_thigh": 4.4,
    "trunk_lean": 2.4,
    "leg_stack": 1.1,
    "knee_bend": 4.9,
    "fold": 8.2,
    "thigh_toe_off": 3.3,
    "hip_share": 2.3,
    "drive_angle": 1.3,
    "turn_delay": 7.8,
    "front_leg_return": 2.2,
    "arm_leg_lag": 13.0,
    "foot_turn": 9.2,
}
USUAL = Habits()
MORE_SLIPS = (1.0, 1.7)  # pictures; 1.7 is 7 ms at 240 a second, the published upper end
PLACES = ("inside", "midway", "at", "past")
OF_A_PLACE = 1.5  # SDs between people


class Off(NamedTuple):
    """What pooled passes of one coach are off: the row as measured, and its error without bias."""

    row: Measured
    error: float


def errors_of(
    context: str, rate: float, habits: Habits, seeds: range
) -> dict[tuple[Key, int], list[Off]]:
    """Return (row, passes) → errors of these coaches."""
    found: dict[tuple[Key, int], list[Off]] = {}
    kinds = KINDS[context]
    for seed in seeds:
        style = runner(4 * (seed % 50) + kinds[seed % len(kinds)])
        runs, truth = visited(style, Filming(rate), seed, MOST_PASSES, habits)
        runs = [replace(run, set_up=replace(run.set_up, context=context)) for run in runs]
        side = [reading for run in runs for reading in readings(run, DEFAULT_CARD, False)]
        moved = [turned_otherwise(run, style, seed) for run in runs]
        rear = [r for i in range(3) for r in readings(from_behind(seed, i, rate), DEFAULT_CARD)]
        for read, true in ((side, truth), (rear, {("foot_turn", ""): TURN_DEG})):
            for n in range(1, MOST_PASSES + 1):
                rows = gathered(read[:n]).rows
                for key in true.keys() & rows.keys():
                    row = rows[key]
                    if isinstance(row, Measured) and key[0] in SD_BETWEEN_PEOPLE:
                        more = float(np.mean([each.get(key, 0.0) for each in moved[:n]]))
                        off = Off(row, row.corrected - true[key] + more)
                        found.setdefault((key, n), []).append(off)
    return found


TURN_DEG, SHOE_PX = 5.0, 60.0  # ours


def from_behind(seed: int, i_pass: int, rate: float) -> Run:
    """Return a rear view in which the line of the shoe turns by TURN_DEG, marked with errors."""
    random = np.random.default_rng([seed, 9, i_pass])
    frames = []
    for i, (event, lean) in enumerate((("last contact", 3.0), ("most turned", 3.0 + TURN_DEG))):
        heel = (500.0 - SHOE_PX * sin(radians(lean)), 400.0 - SHOE_PX * cos(radians(lean)))
        places = {"heel centre": heel, "forefoot centre": (500.0, 400.0)}
        taps = []
        for point, (x, y) in places.items():
            dx, dy = random.normal(0.0, shoe_sd_px(SHOE_PX), 2)
            taps.append(Tap(point, (x + dx, y + dy)))
        frames.append(KeyFrame(event, 10 * i, 10 * i / rate, 1 / rate, taps=tuple(taps)))
    set_up = SetUp(direction=LEFT_TO_RIGHT, slow_factor=1.0)
    source, step = Source("clip", "", (1000, 800)), Step(tuple(frames))
    return Run("rear", source=source, set_up=set_up, steps=(step,))


def places_of(band: Band) -> Iterator[tuple[str, Mapping[str, float]]]:
    """Yield each closed side of a band with its four true values."""
    sd = OF_A_PLACE * SD_BETWEEN_PEOPLE[band.key]
    for side, out in (("low", -1.0), ("high", 1.0)):
        fine, limit = getattr(band, f"fine_{side}"), getattr(band, f"limit_{side}")
        if fine is not None and limit is not None:
            values = (fine - out * sd, (fine + limit) / 2, limit, limit + out * sd)
            yield side, dict(zip(PLACES, values, strict=True))


def shares(offs: Sequence[Off], band: Band, side: str, true: float) -> dict[str, float]:
    """Return how often each word is said on a side of a runner who stands there, in %."""
    words = [
        getattr(judge_value(replace(row, value=true + error + row.bias), band), side)
        for row, error in offs
    ]
    return {word: 100.0 * words.count(word) / len(words) for word in WORDS}


def z_of(offs: Sequence[Off]) -> np.ndarray:
    """Return (corrected − truth) ÷ u′ of each coach."""
    return np.array([error / row.u_corrected for row, error in offs])


@dataclass(frozen=True)
class Line:
    """One row of the table."""

    key: Key
    side: str
    rate: float
    n: int
    z: float
    off: float
    shares: Mapping[str, Mapping[str, float]]

    def __str__(self) -> str:
        name = " ".join(filter(None, (*self.key, self.side)))
        cells = [f"{name} | {self.rate:.0f} | {self.n} | {self.z:.2f}"]
        for place in PLACES:
            cells.append("/".join(f"{share:.0f}" for share in self.shares[place].values()))
        return f"| {' | '.join(cells)} |"

    def past(self, place: str) -> float:
        """Return the share called seen or likely."""
        return self.shares[place][SEEN] + self.shares[place][LIKELY]


def study(
    context: str,
    n_coaches: int,
    criteria: Criteria,
    pool: ProcessPoolExecutor,
    rates: Sequence[float] = RATES,
    habits: Habits = USUAL,
) -> Iterator[Line]:
    """Yield the lines of the table of one kind of running."""
    for rate in rates:
        blocks = [range(i, min(i + BLOCK, n_coaches)) for i in range(0, n_coaches, BLOCK)]
        together: dict[tuple[Key, int], list[Off]] = {}
        for found in pool.map(partial(errors_of, context, rate, habits), blocks):
            for key, offs in found.items():
                together.setdefault(key, []).extend(offs)
        for (key, n), offs in sorted(together.items()):
            band = criteria.band(key[0], context)
            if band is None or band.is_trend_only or n < band.least_steps or offs[0].row.not_graded:
                continue
            z = z_of(offs)
            for side, places in places_of(band):
                told = {name: shares(offs, band, side, true) for name, true in places.items()}
                yield Line(key, side, rate, n, float(z.std()), float(z.mean()), told)


# Rows that only take a priority together with another, or support, are told apart; see items.toml.
HARD = ("trunk_lean",)  # and every far leg: half of the faults are enough


def misses(lines: Sequence[Line]) -> Iterator[str]:
    """Yield a line for every aim that is missed at 240 pictures a second, and every z."""
    for line in lines:
        name = f"{' '.join(filter(None, (*line.key, line.side)))}, {line.rate:.0f}/s, {line.n}"
        if not 0.9 <= line.z <= 1.1:
            yield f"z {line.z:.2f}: {name}"
        if line.shares["at"][SEEN] > 5.0 or line.past("at") > 20.0:
            seen, past = line.shares["at"][SEEN], line.past("at")
            yield f"at the limit seen {seen:.0f} %, with likely {past:.0f} %: {name}"
        if line.rate == 240.0 and line.n == 1 and line.shares["inside"][FINE] < 90.0:
            yield f"well inside fine {line.shares['inside'][FINE]:.0f} %: {name}"
        least = 50.0 if line.key[0] in HARD or line.key[1] == "far" else 80.0
        if line.rate == 240.0 and line.n == 3 and line.past("past") < least:
            yield f"past the limit seen or likely {line.past('past'):.0f} %: {name}"


def main() -> None:
    """Print the tables, and each aim that is missed."""
    n_coaches = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    criteria = load()
    with ProcessPoolExecutor(os.cpu_count(), get_context("spawn")) as pool:
        for context in KINDS:
            print(f"\n{context}, {n_coaches} coaches: shares {' / '.join(WORDS)}, %\n")
            print("| row | /s | passes | z | " + " | ".join(PLACES) + " |")
            print("|---" * (4 + len(PLACES)) + "|")
            lines = []
            for line in study(context, n_coaches, criteria, pool):
                lines.append(line)
                print(line, flush=True)
            print("\n" + ("\n".join(misses(lines)) or "No aim is missed."), flush=True)
        print(
            "\nWithout a bar: coaches who slip by more, sprint, 240/s: z and seen at the limit, %\n"
        )
        print("| row | passes | " + " | ".join(f"SD {sd:g}" for sd in MORE_SLIPS) + " |")
        print("|---" * (2 + len(MORE_SLIPS)) + "|")
        worse = [
            study("sprint", n_coaches, criteria, pool, RATES[:1], Habits(slip_sd=sd))
            for sd in MORE_SLIPS
        ]
        for found in zip(*worse, strict=True):
            name = " ".join(filter(None, (*found[0].key, found[0].side)))
            cells = " | ".join(f"{each.z:.2f}, {each.shares['at'][SEEN]:.0f}" for each in found)
            print(f"| {name} | {found[0].n} | {cells} |", flush=True)


if __name__ == "__main__":
    main()
