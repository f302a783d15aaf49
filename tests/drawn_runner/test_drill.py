"""A runner from a number: always the same one, always one that can run."""

import pytest

from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.drill import between, drawn_athlete
from tests.drawn_runner.make_samples import BEFORE, clip_times
from tests.drawn_runner.truth import true_measures

SEEDS = range(40)


def test_the_same_number_draws_the_same_runner_and_another_number_another() -> None:
    assert drawn_athlete("D01", 7) == drawn_athlete("D01", 7)
    assert len({drawn_athlete("D01", seed).style for seed in SEEDS}) == len(SEEDS)


def test_runners_come_from_both_sides_in_both_kits() -> None:
    drawn = [drawn_athlete("D01", seed) for seed in SEEDS]

    assert {each.direction for each in drawn} == {1, -1}
    assert len({each.look for each in drawn}) == 2


@pytest.mark.parametrize("seed", SEEDS)
def test_every_runner_lands_and_leaves_as_the_style_asks_and_stays_in_the_picture(
    seed: int,
) -> None:
    drawn = drawn_athlete("D01", seed)
    found = true_measures(drawn.style)

    assert found["reach"] == pytest.approx(drawn.style.reach, abs=0.5)
    assert found["knee at touchdown"] == pytest.approx(drawn.style.knee_touchdown, abs=0.5)
    assert found["contact ms"] == pytest.approx(1000 * drawn.style.contact_s)
    numbers = [picture.number for picture in drawn.pictures.values()]
    assert numbers == sorted(numbers)


def test_between_keeps_both_ends() -> None:
    assert between(RUNS_WELL, OVERSTRIDES, 0.0) == RUNS_WELL
    assert between(RUNS_WELL, OVERSTRIDES, 1.0) == OVERSTRIDES


@pytest.mark.parametrize("every", [20, pytest.param(4, marks=pytest.mark.long)])
def test_no_number_up_to_2000_puts_a_key_frame_outside_its_clip(every: int) -> None:
    """A picture before the first one has no number: nobody could be asked to find it."""
    for seed in range(0, 2000, every):
        drawn = drawn_athlete("D01", seed)
        numbers = [picture.number + BEFORE for picture in drawn.pictures.values()]
        assert min(numbers) > 0 and max(numbers) < len(clip_times(drawn)) - 1, seed
        assert numbers == sorted(numbers), seed
