"""What one second look says: how far taps repeat, and which of them moved steadily."""

import re

import pytest

from tapmark.marks.edits import look_again
from tapmark.marks.points import SECOND_LOOK
from tapmark.marks.run import Run, Tap
from tapmark.services.practising import told
from tests.services.made import run_of

PX_PER_M, LEG_M = 270.0, 0.9  # of the drawn runner, about


def looked_twice(run: Run, moved: str, by_px: float) -> Run:
    """The run looked at again: one kind of point so many px to the right, the others scattered."""
    for i, (event, points) in enumerate(SECOND_LOOK.items()):
        for k, point in enumerate(points):
            tap = run.steps[0].key_frame(event).tap(point)  # type: ignore[union-attr]
            x, y = tap.at_px  # type: ignore[union-attr,misc]
            scatter = 0.4 if (i + k) % 2 else -0.4
            dx = by_px + 0.01 * scatter if point == moved else scatter
            run = look_again(run, 0, event, Tap(point, (x + dx, y + scatter)))
    return run


def test_a_run_that_nobody_looked_at_twice_says_nothing() -> None:
    assert told(run_of("over", 1)) == ""


def test_a_place_that_moved_steadily_is_told_with_its_way_and_size() -> None:
    said = told(looked_twice(run_of("over", 1), "hip", 10.0))

    assert said.startswith("Second look done: 10 points")
    (found,) = re.findall(r"The (\w+) is now tapped ([\d.]+) % of leg forward", said)
    assert (found[0], float(found[1])) == (
        "hip",
        pytest.approx(100 * 10.0 / (PX_PER_M * LEG_M), rel=0.15),
    )


def test_taps_that_only_scatter_are_called_no_shift() -> None:
    assert "now tapped" not in told(looked_twice(run_of("over", 1), "nothing", 0.0))
