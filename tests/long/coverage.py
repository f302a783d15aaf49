"""Does the stated ± cover the truth? Thousands of seeded coaches mark drawn runners.

    python -m tests.long.coverage [COACHES]      20000 a way of filming unless told otherwise

What is simulated and what is not stands in tests/measures/simulated.py. This tests the propagation
of the stated errors, not the world. Printed for each measure and way of filming:

    cover   share of true values inside value ± 1.96 u, in %
    at      share called seen of runners who stand exactly at a limit, in %
    past    share called seen of runners 3.3 u past a limit, in %

The last two only where a row has limits, on the worse of the sides that have one. A verdict takes
the known bias off the value first; the ± does not.
"""

import os
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from typing import NamedTuple

import numpy as np

from tapmark.measures.compute import measure_run
from tapmark.measures.result import Z95, Key, Measured
from tests.measures.simulated import Filming, Habits, marked, runner, turned_otherwise

# 1.64: calc, the one-sided 95 % point of a normal distribution; the bars and counts are ours
SEEN_U, PAST_U = 1.64, 3.3
MOST_SEEN_AT, LEAST_SEEN_PAST = 6.5, 93.5
RUNNERS = 200
BLOCK = 250
SQUARE = tuple(Filming(rate, 0.0, ref) for rate in (240.0, 120.0, 60.0) for ref in (True, False))
OFF = tuple(Filming(rate, 10.0, ref) for rate in (240.0, 120.0, 60.0) for ref in (True, False))
WITHOUT_A_BAR = {
    "hip SD 3 cm": Habits(hip_sd_pct=3.2),
    "hip 2 cm off, always the same way": Habits(hip_offset_m=(0.02, 0.0)),
}
LIMITS = {  # sides on which a row can be seen
    "reach": "high",
    "ankle_hip": "high",
    "knee_touchdown": "high",
    "thigh_touchdown": "high",
    "knee_separation": "high",
    "separation_behind": "high",
    "swing_thigh": "low",
    "trunk_lean": "low high",
    "leg_stack": "low",
    "knee_bend": "high",
    "thigh_toe_off": "low high",
    "hip_share": "low",
    "drive_angle": "low high",
    "turn_delay": "high",
    "fold": "high",
}


@dataclass(frozen=True)
class Covered:
    """One measure under one way of filming; shares in %."""

    cover: float
    at_limit: float | None
    past_limit: float | None
    n: int

    def __str__(self) -> str:
        shares = (self.cover, self.at_limit, self.past_limit)
        return " / ".join(f"{share:.1f}" for share in shares if share is not None)


class Error(NamedTuple):
    """What one coach's marking of one runner is off, in the row's unit.

    error: value − truth; bias: the part of it that was said to be known; u: as stated.
    u_corrected: what is left of u for a verdict, once the bias is taken off.
    """

    error: float
    bias: float
    u: float
    u_corrected: float


def errors_of(filming: Filming, habits: Habits, seeds: range) -> dict[Key, list[Error]]:
    """Return the errors of every measured row, for these coaches."""
    found: dict[Key, list[Error]] = {}
    for seed in seeds:
        style = runner(seed % RUNNERS)
        run, truth = marked(style, filming, seed, habits)
        moved = turned_otherwise(run, style, seed)
        rows = measure_run(run, with_checks=False).rows
        for key, true in truth.items():
            row = rows[key]
            if isinstance(row, Measured):
                found.setdefault(key, []).append(
                    Error(row.value + moved.get(key, 0.0) - true, row.bias, row.u, row.u_corrected)
                )
    return found


def cover_pct(errors: Sequence[Error]) -> float:
    """Return the share of true values inside value ± 1.96 u, in %."""
    return 100.0 * float(np.mean([abs(each.error) <= Z95 * each.u for each in errors]))


def seen_pct(errors: Sequence[Error], side: str, past_u: float = 0.0) -> float:
    """Return the share called seen of runners so many u past a limit on one side, in %."""
    sign = 1.0 if side == "high" else -1.0
    error, bias, _, u = np.array(errors).T
    return 100.0 * float(np.mean(sign * (error - bias) > (SEEN_U - past_u) * u))


def z_sd(errors: Sequence[Error]) -> float:
    """Return the SD of (corrected − truth) ÷ u′: 1 where verdicts carry the right doubt."""
    error, bias, _, u = np.array(errors).T
    return float(np.std((error - bias) / u))


def covered(key: Key, errors: Sequence[Error]) -> Covered:
    """Return the shares for one measure."""
    sides = LIMITS.get(key[0], "").split()
    if not sides:
        return Covered(cover_pct(errors), None, None, len(errors))
    at_limit = max(seen_pct(errors, side) for side in sides)
    past_limit = min(seen_pct(errors, side, PAST_U) for side in sides)
    return Covered(cover_pct(errors), at_limit, past_limit, len(errors))


def study(
    filming: Filming, habits: Habits, n_coaches: int, pool: ProcessPoolExecutor
) -> dict[Key, Covered]:
    """Return the shares of all measures for so many coaches."""
    blocks = [range(i, min(i + BLOCK, n_coaches)) for i in range(0, n_coaches, BLOCK)]
    together: dict[Key, list[Error]] = {}
    for found in pool.map(partial(errors_of, filming, habits), blocks):
        for key, errors in found.items():
            together.setdefault(key, []).extend(errors)
    return {key: covered(key, errors) for key, errors in together.items()}


def table(studies: dict[str, dict[Key, Covered]]) -> Iterator[str]:
    """Yield the lines of a Markdown table: cover / at / past for each way of filming."""
    yield "| measure | " + " | ".join(studies) + " |"
    yield "|---" * (len(studies) + 1) + "|"
    for key in next(iter(studies.values())):
        cells = " | ".join(str(each[key]) for each in studies.values())
        yield f"| {' '.join(key).strip()} | {cells} |"


def named(filming: Filming) -> str:
    """Return a way of filming in a few words."""
    place = f"{filming.off_deg:.0f}° off" if filming.off_deg else "square"
    return f"{filming.rate:.0f}/s, {place}{'' if filming.has_reference else ', no upright'}"


def misses(studies: dict[str, dict[Key, Covered]]) -> Iterator[str]:
    """Yield a line for every bar of the table that a measure misses."""
    for way, found in studies.items():
        is_strict = way.endswith(("square", "square, no upright")) and not way.startswith("60")
        lowest, highest = (93.0, 97.0) if is_strict else (90.0, 99.0)
        for key, each in found.items():
            is_past_a_bar = (
                not lowest <= each.cover <= highest
                or (each.at_limit or 0.0) > MOST_SEEN_AT
                or (100.0 if each.past_limit is None else each.past_limit) < LEAST_SEEN_PAST
            )
            if is_past_a_bar:
                yield f"MISSED {' '.join(key).strip()}, {way}: {each}"


def main() -> None:
    """Print the tables, and each bar that is missed."""
    n_coaches = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    with ProcessPoolExecutor(os.cpu_count(), get_context("spawn")) as pool:
        for title, ways in (("Square", SQUARE), ("10° off square", OFF)):
            studies = {named(way): study(way, Habits(), n_coaches, pool) for way in ways}
            print(f"\n{title}: cover / at a limit / past a limit, %, {n_coaches} coaches each\n")
            print("\n".join(table(studies)), flush=True)
            print("\n".join(misses(studies)) or "No bar is missed.", flush=True)
        print("\nWithout a bar: errors larger than stated, 240/s, square, with upright\n")
        others = {
            name: study(Filming(), habits, n_coaches, pool)
            for name, habits in WITHOUT_A_BAR.items()
        }
        print("\n".join(table(others)))


if __name__ == "__main__":
    main()
