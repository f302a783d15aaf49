"""What helps to choose a key frame and to mark it: rules, zone, lanes, jumps, tone, second look."""

import ast
import math
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

import tapmark.app
from tapmark.app.mark.frames_view import RULES, zone_px, zone_shapes
from tapmark.app.mark.taps_actions import tap_at
from tapmark.app.review.actions import retap_words
from tapmark.app.shell.context import Context
from tapmark.app.shell.rates import answer
from tapmark.app.shell.run_lock import let_go
from tapmark.app.shell.stepping import to_check
from tapmark.app.state.frames_shown import Tone
from tapmark.app.state.prompts import Look, Prompt, shown_run
from tapmark.app.state.viewport import Viewport
from tapmark.app.widgets.scrubber import Scrubber, Y
from tapmark.checklist.next_tap import NextTap
from tapmark.marks.points import EVENTS, SECOND_LOOK
from tapmark.marks.run import Run, SetUp, Source
from tapmark.measures.card import DEFAULT_CARD
from tapmark.measures.result import MarkingCheck
from tapmark.report.drawing.shapes import Label, Line
from tapmark.services.places import visit_at
from tapmark.services.visits import VisitReading, read_visit, with_next_taps
from tests.app.made import PICTURES, context_on_marked_run, context_with_run

WIDE = 1280
SENTENCE = re.compile(r"[^.]+\.")


@pytest.fixture
def context(tmp_path: Path, squad_folder: Path) -> Context:
    return context_with_run(tmp_path, squad_folder)


def test_every_key_frame_has_its_rule_in_two_plain_sentences() -> None:
    assert {event for events in EVENTS.values() for event in events} == set(RULES)
    for event, rule in RULES.items():
        sentences = SENTENCE.findall(rule)
        assert len(sentences) == 2, event
        assert all(len(sentence.split()) <= 16 for sentence in sentences), event


# the step most side-on

SQUARE = SetUp(
    camera="tripod", camera_distance_m=12.0, scale_px=((500.0, 700.0), (1040.0, 700.0)), scale_m=2.0
)


def test_the_zone_is_five_degrees_to_either_side_of_the_camera_axis() -> None:
    run = Run(source=Source("clip", "", (WIDE, 720), 100), set_up=SQUARE)
    half_px = 12.0 * math.tan(math.radians(5.0)) * 270.0  # 270 px a metre
    assert (WIDE / 2 - half_px, WIDE / 2 + half_px) == pytest.approx(zone_px(run))


@pytest.mark.parametrize(
    "missing",
    [{"camera_distance_m": None}, {"scale_px": None}, {"scale_m": None}, {"camera": "panned"}],
)
def test_without_distance_or_scale_or_a_still_camera_no_zone_is_made_up(
    missing: dict[str, Any],
) -> None:
    run = Run(source=Source("clip", "", (WIDE, 720), 100), set_up=replace(SQUARE, **missing))
    assert zone_px(run) is None
    assert zone_shapes(run, Viewport((WIDE, 720), (640, 360)), 13.0) == ()


def test_the_zone_is_drawn_where_the_picture_is_and_says_what_it_is() -> None:
    run = Run(source=Source("clip", "", (WIDE, 720), 100), set_up=SQUARE)
    shapes = zone_shapes(run, Viewport((WIDE, 720), (640, 360)), 13.0)
    left, right = (x / 2 for x in zone_px(run) or ())
    assert any(isinstance(s, Label) and s.text == "side-on zone" for s in shapes)
    bar = next(shape for shape in shapes if isinstance(shape, Line))
    assert [x for x, _ in bar.points] == pytest.approx([left, right])


# turning points on the scrub bar


def test_turning_marks_that_fall_together_stay_apart_in_their_lanes() -> None:
    """Lead thigh and elbow turn within a picture or two of each other; so do the other two."""
    canvas = SimpleNamespace(winfo_width=lambda: 700)
    bar: Any = SimpleNamespace(_em=13.0, _count=100, canvas=canvas, _ends=(12.0, 688.0))
    bar._x = lambda i: Scrubber._x(bar, i)  # noqa: SLF001
    shapes = Scrubber._lane(bar, ((50, 54), (51, 54), (52, 53), (53, 57)))  # noqa: SLF001

    heights = [shape.points[0][1] for shape in shapes if isinstance(shape, Line)]
    wide = [shape.width for shape in shapes if isinstance(shape, Line)]
    assert len(set(heights)) == 4 and len(wide) == 4
    assert all(b - a > wide[0] for a, b in pairwise(heights)), "no mark touches another"
    assert max(heights) + wide[0] / 2 < (Y - 0.5) * 13.0 + 3, "all above the bar and its marks"


def test_jump_keys_go_from_one_chosen_key_frame_to_the_next(context: Context) -> None:
    context.go("frames")
    context.perform("first picture")
    visited = []
    for _ in range(5):
        context.perform("next key frame")
        visited.append(context.state.marking.picture)
    assert visited == sorted(PICTURES.values())
    context.perform("next key frame")
    assert context.state.status == "No key frame in that direction."
    context.perform("last key frame")
    assert context.state.marking.picture == sorted(PICTURES.values())[-2]


def test_a_dusk_clip_is_made_lighter_on_the_screen_and_nowhere_else(context: Context) -> None:
    gallery, view = context.state.marking.gallery, context.state.viewport()
    before, run = (
        gallery.cut(40, view, context.state.tone).image.getpixel((0, 0)),
        context.state.run,
    )
    for name in ("lighter", "lighter", "harder"):
        context.perform(name)
    after = gallery.cut(40, view, context.state.tone).image.getpixel((0, 0))
    assert sum(after) > 1.2 * sum(before)
    assert context.state.run is run
    context.perform("plain tone")
    assert context.state.tone == Tone()


# catches and the second look


def test_a_marking_check_is_gone_to_by_one_key_from_tapping_and_from_review(
    context: Context,
) -> None:
    while context.state.marking.prompt:
        tap_at(context, (300.0, 200.0))
    for page in ("taps", "review"):
        context.go(page)
        context.state.review.checks = (
            MarkingCheck("length", "The shank at toe-off is longer.", "toe-off", "near ankle"),
        )
        context.perform("look again")
        assert (context.state.page, context.state.marking.event) == ("taps", "toe-off")
        assert context.state.marking.prompt and context.state.marking.prompt.point == "near ankle"
        assert context.state.marking.picture == PICTURES["toe-off"]


def test_a_check_of_a_key_frame_is_gone_to_on_frames_and_stays_there(context: Context) -> None:
    context.go("frames")
    context.perform("first picture")
    context.state.review.checks = (
        MarkingCheck("length", "The shank at toe-off is longer.", "toe-off", "near ankle"),
        MarkingCheck("turned", "“Most turned” lies late.", "mid-stance"),
    )
    context.perform("look again")
    assert (context.state.page, context.state.marking.picture) == ("frames", PICTURES["mid-stance"])
    context.state.review.checks = context.state.review.checks[:1]
    context.perform("look again")
    assert context.state.status == "No marking check names a place here.", "taps are told on Taps"


def test_a_check_of_a_whole_key_frame_leads_to_its_first_point(context: Context) -> None:
    to_check(context, MarkingCheck("times", "Contact is long.", "toe-off"))
    assert context.state.marking.prompt and context.state.marking.prompt.event == "toe-off"


@pytest.fixture
def marked(tmp_path: Path, squad_folder: Path, truth: dict[str, Any]) -> Iterator[Context]:
    """A run of P02 with every tap where it belongs."""
    made = context_on_marked_run(tmp_path, squad_folder, truth)
    yield made
    let_go(made)


def test_the_second_look_hides_the_first_taps_keeps_ten_and_comes_back(
    marked: Context, truth: dict[str, Any]
) -> None:
    context = marked
    first = context.state.step.key_frames
    context.go("review")
    context.perform("second look")
    shown = shown_run(context.state.run, 0, again=Look())
    for event in SECOND_LOOK:
        frame = shown.steps[0].key_frame(event)
        assert frame and frame.taps == (), "neither the overlay nor the step line shows them"
    taps = 0
    while context.state.marking.look:
        asked = context.state.marking.prompt
        assert asked
        x, y = truth["stills"][asked.event]["points"][asked.point]
        tap_at(context, (x + 2.0, y - 1.0))
        taps += 1

    assert taps == 10
    assert first == context.state.step.key_frames, "the first taps are left alone"
    assert sum(len(frame.taps) for frame in context.state.step.second_look) == 10
    assert (
        context.state.page == "review" and "px" not in context.state.status and context.state.status
    )
    assert context.state.squad.choices.tap_card, "the coach's own card is renewed"


def suggested(context: Context, *, is_beside: bool = False) -> NextTap:
    """Let the Review page have one suggestion: knee and ankle at touchdown."""
    tap = NextTap(0, "touchdown", ("near ankle", "near knee"), is_beside, 1.5, (1, 2))
    none = read_of(context)
    context.state.review.reading = replace(none, untold=3, next_taps=(tap,))
    return tap


def read_of(context: Context) -> VisitReading:
    """Read the visit as the Review page does."""
    assert context.saver.flush() and context.state.visit
    visit = context.state.visit
    folder = context.state.squad.visit_folder(visit.code, visit.dated)
    found = read_visit(visit_at(folder), date(2026, 5, 14))
    return with_next_taps(found, context.state.run_name, DEFAULT_CARD)


def test_review_leads_to_the_tap_that_tells_most_with_the_first_taps_hidden(
    marked: Context,
) -> None:
    context = marked
    context.go("review")
    tap, first = suggested(context), context.state.step.key_frames
    assert retap_words(context.state) == (
        "Three items can't be told. Tap near ankle and near knee at touchdown once more: "
        "decides two of them."
    )

    context.perform("tap more")
    for point in tap.points:
        assert context.state.marking.prompt == Prompt(tap.event, point)
        (shown,) = shown_run(context.state.run, 0, again=context.state.marking.look).steps
        assert shown.key_frame(tap.event).taps == ()
        assert shown.key_frame("toe-off").taps
        tap_at(context, (300.0, 300.0))

    assert (context.state.page, context.state.marking.look) == ("review", None)
    assert first == context.state.step.key_frames, "the first taps are left alone"
    (again,) = context.state.step.looks(tap.event)
    assert {each.point for each in again.taps} == {*tap.points}


def test_a_second_suggestion_is_a_third_look_beside_the_second(marked: Context) -> None:
    context = marked
    for n_looks in (1, 2):
        context.go("review")
        suggested(context)
        context.perform("tap more")
        while context.state.marking.look:
            tap_at(context, (300.0 + n_looks, 300.0))
        assert len(context.state.step.looks("touchdown")) == n_looks


def test_the_pictures_beside_a_key_frame_are_tapped_one_after_the_other(marked: Context) -> None:
    context = marked
    context.go("review")
    tap = suggested(context, is_beside=True)
    assert "one frame before and after touchdown" in retap_words(context.state)

    context.perform("tap more")
    frame, seen = context.state.step.key_frame(tap.event), []
    while context.state.marking.look:
        seen.append(context.state.marking.picture - frame.picture)
        tap_at(context, (300.0, 300.0))

    assert seen == [-1, -1, 1, 1]
    for by in (-1, 1):
        (there,) = context.state.step.looks(tap.event, by)
        assert len(there.taps) == 2


def test_a_suggestion_in_another_run_of_the_visit_opens_that_run(marked: Context) -> None:
    context, state = marked, marked.state
    context.go("review")
    assert context.saver.flush() and state.squad and state.visit and state.run
    code, dated, here = state.visit.code, state.visit.dated, state.run_name
    other = state.squad.new_run(code, dated, state.run)
    tap = suggested(context)
    state.review.reading = replace(state.review.reading, steps=((other, 0), (here, 0)))
    assert f"at touchdown of {other.replace('-', ' ')} once more" in retap_words(state)

    context.perform("tap more")

    assert (state.run_name, state.page) == (other, "taps")
    for point in tap.points:
        assert state.marking.prompt == Prompt(tap.event, point)
        tap_at(context, (300.0, 300.0))
    assert state.page == "review"
    assert context.saver.flush()
    (again,) = state.squad.load_run(code, dated, other).steps[0].looks(tap.event)
    assert {each.point for each in again.taps} == {*tap.points}
    assert state.squad.load_run(code, dated, here).steps[0].looks(tap.event) == ()


def test_nothing_to_tap_once_more_says_what_helps(marked: Context) -> None:
    marked.go("review")
    marked.state.review.reading = replace(read_of(marked), next_taps=())
    assert retap_words(marked.state) == ""
    assert "film two more passes" in marked.actions["tap more"].why_disabled(marked)


def test_nothing_in_the_window_can_stop_the_coach_with_a_question() -> None:
    """No message box, no grab, no waiting for another window: only the system's file dialogs."""
    folder = Path(tapmark.app.__file__).parent
    forbidden = {"messagebox", "simpledialog", "grab_set", "wait_window", "wait_variable"}
    for path in folder.rglob("*.py"):
        tree = ast.parse(path.read_text("utf-8"))
        names = {n.attr for n in ast.walk(tree) if isinstance(n, ast.Attribute)}
        names |= {a.name for n in ast.walk(tree) if isinstance(n, ast.ImportFrom) for a in n.names}
        assert not names & forbidden, path.name


def test_a_tap_is_undone_by_its_name(context: Context) -> None:
    answer(context.state, "camera", camera="hand-held")
    tap_at(context, (300.0, 200.0))
    assert context.state.history and context.state.history.undo_label == "shoulder"
    context.perform("undo")
    assert (context.state.history.undo_label, context.state.history.redo_label) == (
        "camera",
        "shoulder",
    )
