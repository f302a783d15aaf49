"""First-month tasks of a coach, done through the window's own actions on a drawn athlete.

The numbers in the names are those of the list of thirty tasks. Others of the list stand where
they belong: 1 and 24 in test_walk and the sheet's tests, 2 in test_scripted_coach, 3 in
test_stepping, 25 in test_mark_deeds and test_reopen, 28 in test_beside_page and test_sight.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.mark.taps_actions import tap_at
from tapmark.app.review.actions import read_again
from tapmark.app.review.page_actions import choose_copy, make_sheet
from tapmark.app.shell.context import Context
from tapmark.app.shell.rates import answer
from tapmark.app.shell.run_lock import let_go
from tapmark.app.shell.stepping import ask_for
from tapmark.app.state.prompts import Prompt
from tapmark.checklist.verdict import CANT_TELL, FINE, NOT_MEASURED, SEEN, RowVerdict
from tapmark.measures.result import Measured, NotMeasured
from tapmark.store.consent import withdraw
from tests.app.made import context_on_marked_run


@pytest.fixture
def context(tmp_path: Path, squad_folder: Path, truth: dict[str, Any]) -> Iterator[Context]:
    made = context_on_marked_run(tmp_path, squad_folder, truth)
    yield made
    let_go(made)


def rows(context: Context, key: str, foot: str = "") -> list[RowVerdict]:
    read_again(context)
    found = [r for r in context.state.review.reading.assessment.rows if r.result.key == key]
    return [r for r in found if not foot or r.foot == foot]


def value(context: Context, key: str, foot: str = "") -> Measured:
    result = rows(context, key, foot)[0].result
    assert isinstance(result, Measured), result
    return result


def answered(context: Context, event: str, point: str, name: str) -> None:
    """Go to a point and press a button of the Taps page."""
    context.go("taps")
    ask_for(context.state, Prompt(event, point))
    context.perform(name)


def test_task_8_right_to_left_reads_as_its_mirror_image(context: Context) -> None:
    before = {(r.result.key, r.result.leg): r.result for r in rows_of_all(context)}
    assert sum(isinstance(was, Measured) for was in before.values()) > 30
    turn_round(context)
    after = {(r.result.key, r.result.leg): r.result for r in rows_of_all(context)}
    for key, was in before.items():
        if isinstance(was, Measured):
            assert after[key].value == pytest.approx(was.value, abs=1e-6), key
    assert context.state.run.near_side == "left", (
        "mirrored by an app: the near side stays what it is"
    )


def rows_of_all(context: Context) -> tuple[RowVerdict, ...]:
    read_again(context)
    return context.state.review.reading.assessment.rows


def turn_round(context: Context) -> None:
    """Put every tap and reference where it lies in the mirror image, and say so in the set-up."""
    from dataclasses import replace

    run = context.state.run
    wide = run.source.size_px[0]

    def flip(at: tuple[float, float]) -> tuple[float, float]:
        return wide - at[0], at[1]

    frames = tuple(
        replace(f, taps=tuple(replace(t, at_px=flip(t.at_px)) for t in f.taps))
        for f in run.steps[0].key_frames
    )
    context.state.record("turn", replace(run, steps=(replace(run.steps[0], key_frames=frames),)))
    set_up = run.set_up
    answer(
        context.state,
        "turn",
        direction="left to right",
        is_mirrored=True,
        upright_px=tuple(map(flip, set_up.upright_px)),
        scale_px=tuple(map(flip, set_up.scale_px)),
    )


def test_task_9_a_panned_run_still_gives_a_sheet_and_says_what_is_not_graded(
    context: Context,
) -> None:
    answer(context.state, "camera", camera="panned")
    apart = rows(context, "knee_separation")
    assert {row.word for row in apart} == {NOT_MEASURED}
    assert all(row.why or getattr(row.result, "reason", "") for row in apart)
    assert rows(context, "reach", "left")[0].word == SEEN, "one-leg angles survive panning"
    make_sheet(context)
    assert context.state.sheet.written and context.state.sheet.written.is_file()


def test_task_13_touchdown_one_picture_later_asks_its_taps_again_and_updates_everything(
    context: Context,
) -> None:
    contact, reach = value(context, "contact_time").value, value(context, "reach", "left").value
    frame = context.state.step.key_frame("touchdown")
    assert frame
    context.go("frames")
    context.state.marking.picture = frame.picture + 1
    context.perform("key frame 1")
    assert value(context, "contact_time").value == pytest.approx(contact), "it asks first"
    context.perform("key frame 1")

    assert isinstance(rows(context, "reach", "left")[0].result, NotMeasured), "its taps are gone"
    assert value(context, "contact_time").value == pytest.approx(contact - 1000 / 240, abs=0.01)
    context.go("taps")
    asked_again = []
    while context.state.marking.prompt:
        asked_again.append(context.state.marking.prompt.point)
        old = frame.tap(context.state.marking.prompt.point)
        assert context.state.marking.event == "touchdown" and old and old.at_px
        tap_at(context, old.at_px)
    assert [tap.point for tap in frame.taps] == asked_again
    assert value(context, "reach", "left").value == pytest.approx(reach), "measured anew"


def test_task_23_a_photo_page_is_refused_in_a_line_and_the_figure_still_prints(
    context: Context,
) -> None:
    squad = context.state.squad
    assert squad is not None
    squad.save_athlete(withdraw(squad.athlete("P02"), "print photo", "parent", "2026-05-14"))
    choose_copy(context.state, "photo")
    make_sheet(context)
    assert context.state.sheet.written is None
    assert "shows the line figure instead of a photo" in context.state.error
    choose_copy(context.state, "athlete")
    make_sheet(context)
    assert context.state.sheet.written and context.state.sheet.written.name == "sheet.pdf"


def test_task_10_a_dark_blurred_evening_grades_less_and_never_more(context: Context) -> None:
    sharp = {(r.result.key, r.foot): r.word for r in rows_of_all(context)}
    wide = value(context, "reach", "left").u
    for event in ("touchdown", "mid-stance", "toe-off", "peak knee lift", "opposite touchdown"):
        context.go("taps")
        context.state.go_to(event)
        context.perform("blurred")
        for tap in context.state.frame.taps:
            answered(context, event, tap.point, "guess")
    dark = {(r.result.key, r.foot): r.word for r in rows_of_all(context)}
    assert value(context, "reach", "left").u > 1.5 * wide
    assert {k for k, w in dark.items() if w == SEEN} <= {k for k, w in sharp.items() if w == SEEN}
    assert sum(word == CANT_TELL for word in dark.values()) > 3
    assert all("≈" in line for line in about_lines(context))


def about_lines(context: Context) -> list[str]:
    from tapmark.app.state.measure_lines import lines_of

    angles = ("reach", "knee_touchdown", "trunk_lean", "leg_stack")
    return [
        line.name
        for line in lines_of(context.state.review.reading)
        if line.key in angles and line.value
    ]


def test_task_11_a_guessed_hip_widens_trunk_and_thigh_and_sees_nothing_new(
    context: Context,
) -> None:
    before = {key: value(context, key).u for key in ("trunk_lean", "thigh_toe_off")}
    seen = {(r.result.key, r.foot) for r in rows_of_all(context) if r.word == SEEN}
    for frame in context.state.step.key_frames:
        answered(context, frame.event, "hip", "guess")
    for key, u in before.items():
        assert value(context, key).u > u
    assert {(r.result.key, r.foot) for r in rows_of_all(context) if r.word == SEEN} <= seen


def test_task_12_behind_the_near_leg_may_be_fine_but_never_seen(context: Context) -> None:
    answered(context, "touchdown", "far knee", "behind")
    row = rows(context, "knee_separation", "left")[0]
    assert isinstance(row.result, Measured) and row.result.is_about
    assert row.word != SEEN
    assert abs(row.result.value) < row.result.plus_minus, "together, within what is known"
    assert row.word in (FINE, CANT_TELL)


def test_task_12_a_hidden_far_knee_is_not_measured_and_never_nought(context: Context) -> None:
    answered(context, "touchdown", "far knee", "hidden")
    row = rows(context, "knee_separation", "left")[0]
    assert row.word == NOT_MEASURED
    assert isinstance(row.result, NotMeasured) and row.result.reason


@pytest.mark.parametrize(
    ("answers", "word"),
    [({"pain": "yes"}, "pain"), ({"pain": "not answered"}, "pain")],
)
def test_task_30_pain_or_no_answer_leaves_no_priority(
    context: Context, answers: dict[str, object], word: str
) -> None:
    answer(context.state, "pain", **answers)
    read_again(context)
    assert context.state.review.reading.assessment.slots == ()
    assert word in context.state.review.reading.assessment.blocked.lower()


def test_task_4_a_clip_that_plays_slowly_reads_a_contact_of_a_tenth_of_a_second(
    context: Context,
) -> None:
    true = value(context, "contact_time").value
    stretch(context, 8.0)
    answer(context.state, "rate", slow_factor=None)
    assert not isinstance(rows(context, "contact_time")[0].result, Measured)
    answer(context.state, "rate", slow_factor=8.0)
    assert value(context, "contact_time").value == pytest.approx(true, abs=0.5)


def stretch(context: Context, factor: float) -> None:
    """Give the key frames the times of a file that plays so much slower."""
    from dataclasses import replace

    run = context.state.run
    frames = tuple(
        replace(f, time_s=f.time_s * factor, interval_s=f.interval_s * factor)
        for f in run.steps[0].key_frames
    )
    context.state.record("slow", replace(run, steps=(replace(run.steps[0], key_frames=frames),)))


def test_task_21_the_coach_overrides_with_a_reason_and_gets_the_rule_back(context: Context) -> None:
    from tapmark.app.review.actions import change_reason, choose_slot

    read_again(context)
    rule = context.state.review.reading.assessment.by_rule
    other = next(
        i.number
        for i in context.state.review.reading.assessment.items
        if i.number not in rule and not i.is_result
    )
    choose_slot(context.state, 0, other)
    read_again(context)
    assert [slot.item.number for slot in context.state.review.reading.assessment.slots] == [other]
    assert context.state.review.reading.assessment.lacks_reason
    change_reason(context.state, "He asked for it")
    read_again(context)
    assert not context.state.review.reading.assessment.lacks_reason
    choose_slot(context.state, 0, 0)
    read_again(context)
    assert tuple(s.item.number for s in context.state.review.reading.assessment.slots) == rule
