"""Do three suggested taps turn what can't be told into a word, and the right one?

    python -m tests.long.retap [RUNNERS]      2000 unless told otherwise

Seeded coaches mark drawn sprinters at 240 pictures a second, one pass; what is simulated stands in
tests/measures/simulated.py. Every graded row of a runner gets its band moved so that the runner
stands near a limit: up to the width between fine and limit inside it or past it, drawn anew for
each. Then the coach follows the suggestions of checklist.next_tap one after the other, three at
most, with errors drawn anew. Counted are the rows that could not be told before: how many have a
word after, how many the right one, and how many a wrong one.

Near the line decides where the runner stands between fine and limit, for that is what it says; of a
runner past the limit it decides nothing, and is counted apart. Right past the limit are seen and
likely, inside it near the line and fine; wrong are seen and likely inside it, and fine past it.
"""

import os
import sys
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context

import numpy as np

from tapmark.checklist.criteria import Criteria, load
from tapmark.checklist.judge import gap, judge_rows
from tapmark.checklist.next_tap import NextTap, next_taps
from tapmark.checklist.verdict import CANT_TELL, FINE, LIKELY, NEAR_THE_LINE, SEEN, Band
from tapmark.measures.card import DEFAULT_CARD
from tapmark.measures.compute import Reading, gathered, readings
from tapmark.measures.result import Key
from tests.measures.simulated import Filming, looked_again, marked, runner

# ours: how many are simulated
RUNNERS = 200
BLOCK = 25
SPRINTERS = (0, 1)  # of the four kinds of simulated.RUNNERS
FILMING = Filming()
SIDES = ("low", "high")


def near_a_limit(
    criteria: Criteria, truth: dict[Key, float], random: np.random.Generator
) -> tuple[Criteria, dict[Key, tuple[str, float]]]:
    """Return criteria whose sprint bands stand so that the runner is near a limit of each, and for
    each row the side and how far past that limit the truth lies."""
    bands, stands = dict(criteria.bands), {}
    for (row, context), band in criteria.bands.items():
        leg = next((leg for leg in ("near", "far", "") if (row, leg) in truth), None)
        if context != "sprint" or leg is None:
            continue
        closed = [side for side in SIDES if getattr(band, f"limit_{side}") is not None]
        side = str(random.choice(closed))
        past = float(random.uniform(-1.0, 1.0)) * gap(band, side)
        sign = 1.0 if side == "high" else -1.0
        by = truth[row, leg] - sign * past - getattr(band, f"limit_{side}")
        bands[row, context] = _moved(band, by)
        stands[row, leg] = (side, past)
    return replace(criteria, bands=bands), stands


def _moved(band: Band, by: float) -> Band:
    edges = ("limit_low", "fine_low", "fine_high", "limit_high")
    old = {edge: getattr(band, edge) for edge in edges}
    return replace(band, **{e: None if value is None else value + by for e, value in old.items()})


def followed(seed: int, criteria: Criteria) -> Counter[str]:
    """Return what became of the rows of one runner that could not be told."""
    style = runner((seed // 2 % RUNNERS) * 4 + SPRINTERS[seed % 2])
    random = np.random.default_rng([seed, 8])
    run, truth = marked(style, FILMING, seed)
    own, stands = near_a_limit(criteria, truth, random)
    read, counted = readings(run, DEFAULT_CARD, False), Counter[str]()
    before = words_of(read, own)
    open_rows = [key for key in stands if before.get(key) == CANT_TELL]
    for i in range(3):
        (tap, *_) = next_taps(read, own) or (None,)
        if tap is None:
            break
        counted["suggestions"] += 1
        counted["taps"] += len(tap.points) * (2 if tap.is_beside else 1)
        run = looked_again(run, (style, FILMING, seed), tap.event, tap.points, i, by_of(tap))
        read = readings(run, DEFAULT_CARD, False)
        if i == 0:
            first = words_of(read, own)
            counted["decided by the first"] += sum(first[key] != CANT_TELL for key in open_rows)
    after = words_of(read, own)
    counted["runners"] += 1
    for key in open_rows:
        is_past, word = stands[key][1] > 0, after[key]
        counted["can't tell"] += 1
        counted["word"] += word != CANT_TELL
        counted["right"] += word in ((SEEN, LIKELY) if is_past else (NEAR_THE_LINE, FINE))
        counted["near the line past it"] += word == NEAR_THE_LINE and is_past
        counted["near the line inside it"] += word == NEAR_THE_LINE and not is_past
        counted["seen inside or fine past it"] += word == (FINE if is_past else SEEN)
        counted["likely inside it"] += word == LIKELY and not is_past
        counted[f"{key[0]} {key[1]}: can't tell"] += 1
        counted[f"{key[0]} {key[1]}: {word}"] += word != CANT_TELL
    return counted


def by_of(tap: NextTap) -> tuple[int, ...]:
    """Return on which pictures a suggestion is followed, counted from the key frame."""
    return (-1, 1) if tap.is_beside else (0,)


def words_of(read: list[Reading], criteria: Criteria) -> dict[Key, str]:
    """Return the word of every row."""
    rows = judge_rows(gathered(read), criteria)
    return {(row.result.key, row.result.leg): row.word for row in rows}


def counted(seeds: range) -> Counter[str]:
    """Return what became of the rows of many runners."""
    criteria, found = load(), Counter[str]()
    for seed in seeds:
        found += followed(seed, criteria)
    return found


def lines(found: Counter[str]) -> Iterator[str]:
    """Yield what was counted, in words."""
    untold = found["can't tell"]
    right, near_past = found["right"], found["near the line past it"]
    wrong, likely = found["seen inside or fine past it"], found["likely inside it"]

    def share(n: int, of: int) -> str:
        return f"{n} ({100 * n / max(1, of):.1f} %)"

    yield (
        f"{found['runners']} runners, {untold} rows that can't be told. "
        f"{found['suggestions']} suggestions with {found['taps']} taps: "
        f"{share(found['word'], untold)} have a word, "
        f"by the first suggestion alone {found['decided by the first']}."
    )
    yield (
        f"Right: {share(right, untold)}, of which near the line between fine and limit "
        f"{found['near the line inside it']}. Near the line of a runner past the limit, which "
        f"decides nothing: {share(near_past, untold)}."
    )
    yield (
        f"Wrong, of those that are decided: seen inside the limit or fine past it "
        f"{share(wrong, right + wrong + likely)}, likely inside it "
        f"{share(likely, right + wrong + likely)}."
    )


def main() -> None:
    """Print the shares, then each row."""
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 2_000
    blocks = [range(i, min(i + BLOCK, n)) for i in range(0, n, BLOCK)]
    found = Counter[str]()
    with ProcessPoolExecutor(os.cpu_count(), get_context("spawn")) as pool:
        for each in pool.map(counted, blocks):
            found += each
    print("\n".join(lines(found)))
    for name in sorted(name for name in found if ":" in name):
        print(f"{name} {found[name]}")


if __name__ == "__main__":
    main()
