"""A visit from its files to what is said about it."""

from dataclasses import fields, replace
from datetime import date
from pathlib import Path

import pytest

from tapmark.checklist.next_tap import next_taps, untold
from tapmark.checklist.verdict import SEEN
from tapmark.marks.run import Run
from tapmark.measures.card import DEFAULT_CARD
from tapmark.measures.compute import readings
from tapmark.measures.result import Measured
from tapmark.services.visits import read_visit, with_next_taps
from tests.services.made import FIRST, TODAY, agreed, place, rear_of, run_of, squad_of

DAY = date.fromisoformat(TODAY)


def test_both_feet_of_a_rear_view_are_judged_and_the_worse_one_is_named(tmp_path: Path) -> None:
    runs = [run_of(), *[rear_of("right", 2.0)] * 3, *[rear_of("left", 40.0)] * 3]
    squad = squad_of(tmp_path / "s", [agreed()], {"K07": [(FIRST, runs)]})

    reading = read_visit(place(squad), DAY)

    turns = [row for row in reading.assessment.rows if row.result.key == "foot_turn"]
    assert {row.foot: row.word for row in turns} == {"right": "fine", "left": "seen"}
    foot_turns = reading.assessment.item(16)
    assert (foot_turns.word, foot_turns.feet) == ("seen", "left")


def test_two_rear_views_are_no_left_and_right_of_the_side_view(tmp_path: Path) -> None:
    from tapmark.measures.change import both_sides
    from tapmark.measures.result import NotMeasured

    runs = [run_of(), rear_of("left", 2.0)]
    squad = squad_of(tmp_path / "s", [agreed()], {"K07": [(FIRST, runs)]})

    sides = both_sides(read_visit(place(squad), DAY).results)

    assert isinstance(sides, NotMeasured) and "Film the same run the other way" in sides.reason


@pytest.mark.parametrize("n_passes", [1, 3])
def test_every_number_of_a_visit_is_a_plain_float(tmp_path: Path, n_passes: int) -> None:
    runs = [run_of("over", seed) for seed in range(n_passes)]
    squad = squad_of(tmp_path / "s", [agreed()], {"K07": [(FIRST, runs)]})

    rows = read_visit(place(squad), DAY).results.rows.values()

    measured = [row for row in rows if isinstance(row, Measured)]
    assert len(measured) > 30
    for row in measured:
        numbers = [getattr(row, field.name) for field in fields(row)]
        numbers += [sd for _, sd in row.parts]
        assert {type(n).__module__ for n in numbers} == {"builtins"}, row.key


def guessed(run: Run) -> Run:
    """Return a run of which every tap is a guess."""
    (step,) = run.steps
    frames = tuple(
        replace(f, taps=tuple(replace(tap, certainty="guess") for tap in f.taps))
        for f in step.key_frames
    )
    return replace(run, steps=(replace(step, key_frames=frames),))


def test_what_to_tap_once_more_is_asked_for_where_it_tells_most_in_any_run_of_the_set_up(
    tmp_path: Path,
) -> None:
    """The run at hand was marked surely, the other one by guesses; another view is left out."""
    runs = [guessed(run_of()), run_of(), rear_of("right", 2.0)]
    squad = squad_of(tmp_path / "s", [agreed()], {"K07": [(FIRST, runs)]})
    reading = read_visit(place(squad), DAY)
    (other, unsure), (name, run), _ = reading.runs

    found = with_next_taps(reading, name, DEFAULT_CARD)
    both = [each for one in (run, unsure) for each in readings(one, DEFAULT_CARD)]

    assert found.untold == len(untold(both, reading.criteria)) > 0
    assert found.next_taps == next_taps(both, reading.criteria)
    assert found.steps == ((name, 0), (other, 0))
    assert [found.steps[tap.i_reading] for tap in found.next_taps] == [(other, 0)]
    assert with_next_taps(reading, "run-9", DEFAULT_CARD) == reading


def test_an_item_that_the_other_foot_tells_asks_for_no_tap(tmp_path: Path) -> None:
    squad = squad_of(tmp_path / "s", [agreed()], {"K07": [(FIRST, [run_of()])]})
    reading = read_visit(place(squad), DAY)
    told = tuple(replace(item, word=SEEN) for item in reading.assessment.items)
    elsewhere = replace(reading, assessment=replace(reading.assessment, items=told))

    assert with_next_taps(reading, "run-1", DEFAULT_CARD).untold > 0
    found = with_next_taps(elsewhere, "run-1", DEFAULT_CARD)
    assert (found.untold, found.next_taps) == (0, ())
