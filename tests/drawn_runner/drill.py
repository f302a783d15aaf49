"""A runner nobody has seen before, from a number: for somebody who learns to mark.

The runner lies somewhere between the two sample athletes, runs one way or the other, and the
camera's first picture comes at any moment; the same number always draws the same runner.
The clips that ship are drawn anew by

    python -m tests.drawn_runner.drill sample_frames/practice
"""

import sys
from dataclasses import fields
from pathlib import Path

import numpy as np

from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.looks import PLUM_AND_GOLD, WHITE_AND_TEAL
from tests.drawn_runner.make_samples import PRACTICE_SEEDS, Sample, make_samples
from tests.drawn_runner.style import Style


def drawn_athlete(code: str, seed: int) -> Sample:
    """Return the runner of a number; the clip is drawn by `make_samples.write_clip`."""
    random = np.random.default_rng([seed, 5])
    share, phase = random.uniform(0.0, 1.0), random.uniform(0.1, 0.9)
    look = (WHITE_AND_TEAL, PLUM_AND_GOLD)[int(random.integers(2))]
    direction = 1 if random.integers(2) else -1
    style = between(RUNS_WELL, OVERSTRIDES, float(share))
    return Sample(
        code, style, look, direction, float(phase), 2000, seed, with_clip=True, with_stills=False
    )


def between(one: Style, other: Style, share: float) -> Style:
    """Return a style that is that share of the way from one to the other."""
    mixed = {
        field.name: (1 - share) * getattr(one, field.name) + share * getattr(other, field.name)
        for field in fields(Style)
    }
    return Style(**mixed)


def practice_samples() -> tuple[Sample, ...]:
    """Return the runners whose clips ship for practice."""
    return tuple(drawn_athlete(code, seed) for code, seed in PRACTICE_SEEDS.items())


if __name__ == "__main__":
    make_samples(Path(sys.argv[1]), practice_samples())
