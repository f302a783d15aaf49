"""Which verdicts hang on the choice of one picture."""

from dataclasses import replace

import pytest

from tapmark.checklist.frame_choice import frame_changes, frame_sentences
from tapmark.checklist.judge import judge_rows
from tapmark.checklist.verdict import NEAR_THE_LINE, SEEN
from tapmark.measures.compute import measure_run
from tapmark.measures.sensitivity import OnePictureOff, one_picture_off
from tests.checklist.made import CRITERIA, results
from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.runs import drawn_run


def off(value, by, event="touchdown"):
    return OnePictureOff(event, by, 0, results({"reach": value}))


def test_change_is_told_with_its_key_frame_value_and_word():
    marked = results({"reach": 13.4})
    (change,) = frame_changes(marked, [off(14.9, -1), off(11.9, 1)], CRITERIA)
    assert (change.by, change.before.word, change.after.word) == (1, SEEN, NEAR_THE_LINE)
    assert frame_sentences([change], CRITERIA) == (
        "Reach: shin at touchdown (right): with touchdown one picture later "
        "it would read 12 and be near the line.",
    )


def test_no_change_is_told_in_one_sentence():
    marked = results({"reach": 20})
    changes = frame_changes(marked, [off(21.5, -1), off(18.5, 1)], CRITERIA)
    assert changes == ()
    assert frame_sentences(changes, CRITERIA) == (CRITERIA.words.say("why.shift_none"),)


def test_only_rows_that_matter_are_told():
    marked = results({"reach": 13.4})
    assert frame_changes(marked, [off(11.9, 1)], CRITERIA, keys=["leg_stack"]) == ()


@pytest.mark.parametrize("style", [RUNS_WELL, OVERSTRIDES])
def test_changes_of_a_drawn_run_are_those_of_judging_the_shifted_results(style):
    run = drawn_run(replace(style, trunk_lean=10.0))
    marked = measure_run(run)
    shifted = list(one_picture_off(run))
    now = {(row.result.key, row.foot): row.word for row in judge_rows(marked, CRITERIA)}
    expected = [
        (each.event, each.by, row.result.key, row.foot)
        for each in shifted
        for row in judge_rows(each.results, CRITERIA)
        if row.word != now[row.result.key, row.foot]
    ]
    found = frame_changes(marked, shifted, CRITERIA)
    told = [(each.event, each.by, each.after.result.key, each.after.foot) for each in found]
    assert told == expected
    assert len(frame_sentences(found, CRITERIA)) == max(1, len(found))
    assert all(
        event in ("touchdown", "mid-stance", "toe-off", "peak knee lift", "opposite touchdown")
        for event, *_ in told
    )
