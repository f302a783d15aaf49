"""First-month tasks of a coach, done through the window's own deeds on a drawn athlete.

The numbers in the names are those of the list of thirty tasks. Others of the list stand where
they belong: 1 and 24 in test_walk and the sheet's tests, 2 in test_scripted_coach, 3 in
test_stepping, 25 in test_mark_deeds and test_reopen, 28 in test_beside_page and test_sight.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.desk import Desk
from tapmark.app.film_deeds import answer
from tapmark.app.holding import let_go
from tapmark.app.mark_deeds import ask_for, tap_at
from tapmark.app.prompting import Prompt
from tapmark.app.review_deeds import read_again
from tapmark.app.sheet_deeds import choose_copy, make_sheet
from tapmark.checklist.verdict import CANT_TELL, FINE, NOT_MEASURED, SEEN, RowVerdict
from tapmark.measures.result import Measured, NotMeasured
from tapmark.store.gates import withdraw
from tests.app.made import desk_on_marked_run


@pytest.fixture
def desk(tmp_path: Path, squad_folder: Path, truth: dict[str, Any]) -> Iterator[Desk]:
    made = desk_on_marked_run(tmp_path, squad_folder, truth)
    yield made
    let_go(made)


def rows(desk: Desk, key: str, foot: str = "") -> list[RowVerdict]:
    read_again(desk)
    found = [r for r in desk.state.reading.assessment.rows if r.result.key == key]
    return [r for r in found if not foot or r.foot == foot]


def value(desk: Desk, key: str, foot: str = "") -> Measured:
    result = rows(desk, key, foot)[0].result
    assert isinstance(result, Measured), result
    return result


def answered(desk: Desk, event: str, point: str, name: str) -> None:
    """Go to a point and press a button of the Taps page."""
    desk.go("taps")
    ask_for(desk.state, Prompt(event, point))
    desk.perform(name)


def test_task_8_right_to_left_reads_as_its_mirror_image(desk: Desk) -> None:
    before = {(r.result.key, r.result.leg): r.result for r in rows_of_all(desk)}
    assert sum(isinstance(was, Measured) for was in before.values()) > 30
    turn_round(desk)
    after = {(r.result.key, r.result.leg): r.result for r in rows_of_all(desk)}
    for key, was in before.items():
        if isinstance(was, Measured):
            assert after[key].value == pytest.approx(was.value, abs=1e-6), key
    assert desk.state.run.near_side == "left", "mirrored by an app: the near side stays what it is"


def rows_of_all(desk: Desk) -> tuple[RowVerdict, ...]:
    read_again(desk)
    return desk.state.reading.assessment.rows


def turn_round(desk: Desk) -> None:
    """Put every tap and reference where it lies in the mirror image, and say so in the set-up."""
    from dataclasses import replace

    run = desk.state.run
    wide = run.source.size_px[0]

    def flip(at: tuple[float, float]) -> tuple[float, float]:
        return wide - at[0], at[1]

    frames = tuple(
        replace(f, taps=tuple(replace(t, at_px=flip(t.at_px)) for t in f.taps))
        for f in run.steps[0].key_frames
    )
    desk.state.record("turn", replace(run, steps=(replace(run.steps[0], key_frames=frames),)))
    set_up = run.set_up
    answer(
        desk,
        "turn",
        direction="left to right",
        is_mirrored=True,
        upright_px=tuple(map(flip, set_up.upright_px)),
        scale_px=tuple(map(flip, set_up.scale_px)),
    )


def test_task_9_a_panned_run_still_gives_a_sheet_and_says_what_is_not_graded(desk: Desk) -> None:
    answer(desk, "camera", camera="panned")
    apart = rows(desk, "knee_separation")
    assert {row.word for row in apart} == {NOT_MEASURED}
    assert all(row.why or getattr(row.result, "reason", "") for row in apart)
    assert rows(desk, "reach", "left")[0].word == SEEN, "one-leg angles survive panning"
    make_sheet(desk)
    assert desk.state.written and desk.state.written.is_file()


def test_task_13_touchdown_one_picture_later_asks_its_taps_again_and_updates_everything(
    desk: Desk,
) -> None:
    contact, reach = value(desk, "contact_time").value, value(desk, "reach", "left").value
    frame = desk.state.step.key_frame("touchdown")
    assert frame
    desk.go("frames")
    desk.state.picture = frame.picture + 1
    desk.perform("key frame 1")

    assert isinstance(rows(desk, "reach", "left")[0].result, NotMeasured), "its taps are gone"
    assert value(desk, "contact_time").value == pytest.approx(contact - 1000 / 240, abs=0.01)
    desk.go("taps")
    asked_again = []
    while desk.state.prompt:
        asked_again.append(desk.state.prompt.point)
        old = frame.tap(desk.state.prompt.point)
        assert desk.state.event == "touchdown" and old and old.at_px
        tap_at(desk, old.at_px)
    assert [tap.point for tap in frame.taps] == asked_again
    assert value(desk, "reach", "left").value == pytest.approx(reach), "measured anew"


def test_task_23_a_photo_page_is_refused_in_a_line_and_the_figure_still_prints(desk: Desk) -> None:
    squad = desk.state.squad
    assert squad is not None
    squad.save_athlete(withdraw(squad.athlete("P02"), "print photo", "parent", "2026-05-14"))
    choose_copy(desk, "photo")
    make_sheet(desk)
    assert desk.state.written is None
    assert "shows the line figure instead of a photo" in desk.state.trouble
    choose_copy(desk, "athlete")
    make_sheet(desk)
    assert desk.state.written and desk.state.written.name == "sheet.pdf"


def test_task_10_a_dark_blurred_evening_grades_less_and_never_more(desk: Desk) -> None:
    sharp = {(r.result.key, r.foot): r.word for r in rows_of_all(desk)}
    wide = value(desk, "reach", "left").u
    for event in ("touchdown", "mid-stance", "toe-off", "peak knee lift", "opposite touchdown"):
        desk.go("taps")
        desk.state.go_to(event)
        desk.perform("blurred")
        for tap in desk.state.frame.taps:
            answered(desk, event, tap.point, "guess")
    dark = {(r.result.key, r.foot): r.word for r in rows_of_all(desk)}
    assert value(desk, "reach", "left").u > 1.5 * wide
    assert {k for k, w in dark.items() if w == SEEN} <= {k for k, w in sharp.items() if w == SEEN}
    assert sum(word == CANT_TELL for word in dark.values()) > 3
    assert all("≈" in line for line in about_lines(desk))


def about_lines(desk: Desk) -> list[str]:
    from tapmark.app.verdict_rows import lines_of

    angles = ("reach", "knee_touchdown", "trunk_lean", "leg_stack")
    return [line.name for line in lines_of(desk.state.reading) if line.key in angles and line.value]


def test_task_11_a_guessed_hip_widens_trunk_and_thigh_and_sees_nothing_new(desk: Desk) -> None:
    before = {key: value(desk, key).u for key in ("trunk_lean", "thigh_toe_off")}
    seen = {(r.result.key, r.foot) for r in rows_of_all(desk) if r.word == SEEN}
    for frame in desk.state.step.key_frames:
        answered(desk, frame.event, "hip", "guess")
    for key, u in before.items():
        assert value(desk, key).u > u
    assert {(r.result.key, r.foot) for r in rows_of_all(desk) if r.word == SEEN} <= seen


def test_task_12_behind_the_near_leg_may_be_fine_but_never_seen(desk: Desk) -> None:
    answered(desk, "touchdown", "far knee", "behind")
    row = rows(desk, "knee_separation", "left")[0]
    assert isinstance(row.result, Measured) and row.result.is_about
    assert row.word != SEEN
    assert abs(row.result.value) < row.result.plus_minus, "together, within what is known"
    assert row.word in (FINE, CANT_TELL)


def test_task_12_a_hidden_far_knee_is_not_measured_and_never_nought(desk: Desk) -> None:
    answered(desk, "touchdown", "far knee", "hidden")
    row = rows(desk, "knee_separation", "left")[0]
    assert row.word == NOT_MEASURED
    assert isinstance(row.result, NotMeasured) and row.result.reason


@pytest.mark.parametrize(
    ("answers", "word"),
    [({"pain": "yes"}, "pain"), ({"pain": "not answered"}, "pain")],
)
def test_task_30_pain_or_no_answer_leaves_no_priority(
    desk: Desk, answers: dict[str, object], word: str
) -> None:
    answer(desk, "pain", **answers)
    read_again(desk)
    assert desk.state.reading.assessment.slots == ()
    assert word in desk.state.reading.assessment.blocked.lower()


def test_task_4_a_clip_that_plays_slowly_reads_a_contact_of_a_tenth_of_a_second(
    desk: Desk,
) -> None:
    true = value(desk, "contact_time").value
    stretch(desk, 8.0)
    answer(desk, "rate", slow_factor=None)
    assert not isinstance(rows(desk, "contact_time")[0].result, Measured)
    answer(desk, "rate", slow_factor=8.0)
    assert value(desk, "contact_time").value == pytest.approx(true, abs=0.5)


def stretch(desk: Desk, factor: float) -> None:
    """Give the key frames the times of a file that plays so much slower."""
    from dataclasses import replace

    run = desk.state.run
    frames = tuple(
        replace(f, time_s=f.time_s * factor, interval_s=f.interval_s * factor)
        for f in run.steps[0].key_frames
    )
    desk.state.record("slow", replace(run, steps=(replace(run.steps[0], key_frames=frames),)))


def test_task_21_the_coach_overrides_with_a_reason_and_gets_the_rule_back(desk: Desk) -> None:
    from tapmark.app.review_deeds import change_reason, choose_slot

    read_again(desk)
    rule = desk.state.reading.assessment.by_rule
    other = next(
        i.number
        for i in desk.state.reading.assessment.items
        if i.number not in rule and not i.is_result
    )
    choose_slot(desk, 0, other)
    read_again(desk)
    assert [slot.item.number for slot in desk.state.reading.assessment.slots] == [other]
    assert desk.state.reading.assessment.lacks_reason
    change_reason(desk, "He asked for it")
    read_again(desk)
    assert not desk.state.reading.assessment.lacks_reason
    choose_slot(desk, 0, 0)
    read_again(desk)
    assert tuple(s.item.number for s in desk.state.reading.assessment.slots) == rule
