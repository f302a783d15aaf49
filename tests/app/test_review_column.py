"""Review's column: one headline, the checklist by moment, its drawings, what is folded away."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from tkinter import ttk
from typing import Any

import pytest

from tapmark.app.review.view import LEAVES
from tapmark.app.state.checklist_lines import (
    FOLDS,
    CheckLine,
    checklist_lines,
    deciding,
    fold_counts,
    headline,
    value_words,
)
from tapmark.checklist.verdict import FINE, NOT_MEASURED, TOLD
from tapmark.marks.points import PEAK_KNEE_LIFT, SIDE_EVENTS
from tapmark.measures.catalogue import row as catalogue_row
from tapmark.measures.result import Measured
from tapmark.report.drawing.overlay import LENGTHS, own_taps
from tapmark.report.drawing.shapes import Label, Line, Shapes
from tapmark.services.visits import VisitReading
from tapmark.store.squad import open_squad
from tests.app.clipping import clipped, mapped
from tests.app.driving import Driver, OpenWindow, drawn_by_tk


@pytest.fixture
def app(open_app: OpenWindow, marked_squad: Callable[[], Path]) -> Driver:
    """Review of a marked run."""
    driver = open_app(marked_squad())
    driver.open_last_run()
    driver.go("review")
    driver.pump(lambda: driver.state.review.reading, "the reading")
    driver.pump(lambda: driver.view.list.tree.get_children(), "the list")
    return driver


def items(app: Driver) -> list[str]:
    return [row for row in app.view.list.tree.get_children() if row.startswith("item")]


def texts(app: Driver) -> list[str]:
    tree = app.view.list.tree
    return [str(tree.item(row, "text")).strip() for row in tree.get_children()]


def test_the_column_is_whole_while_a_run_is_still_being_read(
    open_app: OpenWindow, marked_squad: Callable[[], Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tapmark.app.review.view.read_again", lambda context: None)
    app = open_app(marked_squad())
    app.open_last_run()
    app.go("review")
    assert app.state.review.reading is None and clipped(app.root) == []


def test_the_headline_names_the_proposed_thing_and_the_second_line_counts(app: Driver) -> None:
    found = app.state.review.reading.assessment
    (chosen,) = found.slots
    words = app.view.list.headline.cget("text")
    assert words == headline(found)
    assert words.startswith(chosen.item.name) and f"is {chosen.item.word}" in words
    n_seen = sum(item.word == "seen" and not item.is_result for item in found.items)
    assert f"{n_seen} seen" in app.view.list.second.cget("text")
    assert chosen.item.once
    assert "Mark another pass to be sure." in app.view.list.priority.words.cget("text")


def test_every_item_stands_in_the_list_or_in_one_fold_and_opening_all_shows_all(
    app: Driver,
) -> None:
    reading = app.state.review.reading
    counts = fold_counts(reading)
    assert len(items(app)) + sum(counts.values()) == 18
    for fold in FOLDS:
        app.click(app.view.list.folds[fold])
    assert len(items(app)) == 18
    assert set(items(app)) == {f"item {n}" for n in range(1, 19)}
    assert {item.name for item in reading.assessment.items} <= set(texts(app)), "whole names"
    app.click(app.view.list.folds["fine"])
    assert len(items(app)) == 18 - counts["fine"]


def test_the_value_is_that_of_the_row_that_decides_on_the_worse_foot(
    reading: VisitReading,
) -> None:
    for line in checklist_lines(reading, FOLDS):
        if line.item is None or line.verdict is None:
            continue
        result = line.verdict.result
        if not isinstance(result, Measured):
            continue
        assert line.value == value_words(result)
        rows = [row for row in line.item.rows if row.word == line.item.word]
        if rows:
            assert line.verdict in rows
            assert abs(line.verdict.excess) == max(abs(row.excess) for row in rows)


def test_where_all_rows_must_be_past_the_one_that_is_not_decides(reading: VisitReading) -> None:
    item = reading.assessment.item(2)
    reach = next(row for row in item.rows if row.result.key == "reach")
    knee = next(row for row in item.rows if row.result.key == "knee_touchdown")
    for word in ("near the line", "fine"):
        rows = (replace(reach, word="seen", excess=5.0), replace(knee, word=word, excess=-1.0))
        held = replace(item, word="near the line", rows=rows)
        assert deciding(held, is_all=True) is rows[1]
        assert deciding(replace(held, word="seen")) is rows[0]


def test_a_line_shows_its_own_drawing_on_its_key_frame(app: Driver) -> None:
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Down")
    seen = set()
    for _ in range(30):
        line = app.view.list.chosen(app.state)
        assert line
        if line.verdict and isinstance(line.verdict.result, Measured):
            assert app.state.marking.event == line.event
            frame, key = app.state.frame, line.verdict.result.key
            assert app.state.marking.picture == frame.picture
            used = catalogue_row(key).needs_of(line.verdict.result.leg)[line.event]
            own = {tap.point for tap in own_taps(frame, key, line.verdict.result.leg).taps}
            if line.event != PEAK_KNEE_LIFT and "neck base or shoulder" not in used:
                assert own == set(used)
            shapes = app.view.overlay(app.state, app.bench.pane.view)
            value = line.value.replace("  ≈", "")
            assert value in [s.text for s in shapes if isinstance(s, Label)], line.name
        seen.add(line.key)
        app.press("Down")
    assert seen == {line.key for line in app.view.list._lines}  # noqa: SLF001
    app.press("Up")
    assert app.view.list.tree.selection() == (app.state.review.line,)


def test_peak_knee_lift_keeps_trunk_and_arm_in_its_drawing(
    marked_squad: Callable[[], Path],
) -> None:
    """A lifted thigh alone was drawn as a bare leg though hip, shoulder and elbow are tapped."""
    run = open_squad(marked_squad()).load_run("P02", "2026-05-14", "run-1")
    frame = run.steps[0].key_frame(PEAK_KNEE_LIFT)
    own = {tap.point for tap in own_taps(frame, "peak_thigh", "far").taps}
    assert {"hip", "shoulder", "elbow", "far knee"} <= own


def test_two_lines_below_say_bands_feet_and_what_others_had(app: Driver) -> None:
    app.click(app.view.list.folds["fine"])
    app.view.list.tree.selection_set("item 1")
    app.pump()
    words = app.view.list.details.cget("text")
    for part in ("Shin angle at touchdown (reach)", "fine up to", "limit", "± mostly", "Measured"):
        assert part in words
    feet = {row.foot for row in app.state.review.reading.assessment.item(1).rows}
    assert feet == {"right", "left"} and all(foot in words.lower() for foot in feet)
    starts = [sentence[0] for sentence in words.split(". ")]
    assert not any(letter.islower() for letter in starts), "each is a sentence"


def test_a_marking_check_takes_the_second_line_and_k_goes_there(app: Driver) -> None:
    from tests.app.awkward import swapped

    run = app.state.run
    app.state.record("swapped", swapped(run))
    app.pump(lambda: app.state.review.checks, "the check")
    app.pump(lambda: app.view.list.check.winfo_ismapped(), "the button")
    assert app.state.review.checks[0].words in app.view.list.second.cget("text")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("k")
    assert app.state.page == "taps"


@pytest.mark.parametrize("size", ["1366x768", "1024x600"])
def test_the_three_leaves_stay_where_they_are(app: Driver, size: str) -> None:
    """On Drawing they lay 29 px lower, and a press on the next one hit nothing."""
    app.root.geometry(f"{size}+0+0")

    def boxes() -> dict[str, tuple[int, ...]]:
        app.rest()
        return {
            str(each.cget("text")): (each.winfo_rootx(), each.winfo_rooty(), each.winfo_width())
            for each in mapped(app.root)
            if isinstance(each, ttk.Button) and each.cget("text") in dict(LEAVES).values()
        }

    before = boxes()
    assert len(before) == 3

    for action in ("page drawing", "compare", "page review"):
        app.context.perform(action)
        assert boxes() == before, action


def test_each_other_leaf_is_one_key_away_and_escape_leads_back(app: Driver) -> None:
    panels = app.view._panels  # noqa: SLF001
    for key, leaf in (("w", "why"), ("n", "measures"), ("h", "signs")):
        app.keyboard_on(app.bench.pane.canvas)
        app.press(key)
        assert app.state.review.leaf == leaf
        assert [name for name, panel in panels.items() if panel.frame.winfo_ismapped()] == [leaf]
        app.press("Escape")
        assert app.view.list.frame.winfo_ismapped()


def test_all_measures_stand_in_the_table_with_whole_names(app: Driver) -> None:
    app.click(app.view.list.folds["measures"])
    table = app.view.table
    rows = [row for row in table.get_children() if row.isdigit()]
    assert len(rows) == len(app.state.review.reading.assessment.rows)
    names = {str(table.item(row, "text")) for row in table.get_children() if not row.isdigit()}
    assert "Shin angle at touchdown (reach)" in names
    table.selection_set(rows[2])
    app.pump()
    assert "± mostly" in app.view.measures.details.cget("text")


def test_why_shows_the_pair_the_chain_and_the_fields_of_a_second_one(app: Driver) -> None:
    app.click(app.button("why this one"))
    why = app.view.why
    assert why.pair.winfo_ismapped() and why.map.winfo_ismapped()
    for reason in app.state.review.reading.assessment.reasons:
        assert reason in why.words.cget("text")
    assert why.second.box.winfo_ismapped() and why.reason.winfo_ismapped()


def test_a_suggestion_is_a_line_that_leads_to_its_taps(app: Driver) -> None:
    from tapmark.checklist.next_tap import NextTap

    taps = tuple(NextTap(0, event, ("hip",), False, 1.0, (1,)) for event in SIDE_EVENTS[:3])
    app.pump(lambda: app.context.jobs.is_idle, "the readings")
    app.state.review.reading = replace(app.state.review.reading, untold=3, next_taps=taps)
    app.state.notify()
    app.pump()
    tree = app.view.list.tree
    assert [row for row in tree.get_children() if row.startswith("tap")] == [
        "tap 0",
        "tap 1",
        "tap 2",
    ]
    tree.selection_set("tap 1")
    app.pump()
    assert "Three items can't be told." in app.view.list.details.cget("text")
    app.keyboard_on(tree)
    app.press("Return")
    assert app.state.page == "taps"
    prompt = app.state.marking.prompt
    assert (prompt.event, prompt.point) == (SIDE_EVENTS[1], "hip")


def places(app: Driver) -> list[tuple[int, ...]]:
    panel: Any = app.view.list
    widgets = [panel.headline, panel.second, panel.tree, *panel.folds.values()]
    widgets += [panel.priority.first.box, panel.priority.cue, app.bench.column.onward]
    widgets += [app.bench.pane.canvas]
    return [(w.winfo_rootx(), w.winfo_rooty(), w.winfo_width(), w.winfo_height()) for w in widgets]


@pytest.mark.parametrize(
    ("size", "text"),
    [
        ("1024x568", 1.0),
        pytest.param("1920x1040", 1.5, marks=pytest.mark.long),
        pytest.param("1366x736", 1.5, marks=pytest.mark.long),
        pytest.param("1024x568", 1.5, marks=pytest.mark.long),
        pytest.param("1366x736", 1.0, marks=pytest.mark.long),
        pytest.param("1920x1040", 1.0, marks=pytest.mark.long),
    ],
)
def test_choosing_lines_moves_nothing_and_cuts_nothing(app: Driver, text: float, size: str) -> None:
    app.root.geometry(f"{size}+0+0")
    app.context.settings.change(replace(app.context.settings.value, text_size=text))
    app.window.lay_out_again()
    app.pump(lambda: app.view.list.tree.get_children(), "the list")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Down")
    before = places(app)
    for _ in range(8):
        app.press("Down")
        assert places(app) == before, app.state.review.line
    for key in ("", "w", "n", "h"):
        if key:
            app.press(key)
        if size != "1024x568" or text == 1.0:
            assert clipped(app.view._panels[app.state.review.leaf].frame) == []  # noqa: SLF001
        app.press("Escape")
    words = {line.word for line in app.view.list._lines}  # noqa: SLF001
    assert words & set(TOLD) and NOT_MEASURED not in words and FINE not in words


@pytest.mark.parametrize("size", [pytest.param("1366x736", marks=pytest.mark.long), "1024x568"])
def test_the_pair_stands_on_the_picture_in_a_corner_free_of_marks(app: Driver, size: str) -> None:
    """You and the idea are seen without a key, and never over the runner."""
    app.root.geometry(f"{size}+0+0")
    app.pump()
    app.keyboard_on(app.bench.pane.canvas)
    names = {"you", "the idea"}
    for key in "12345":
        app.press(f"Key-{key}")
        view, frame = app.bench.pane.view, app.state.frame
        shapes = app.view.overlay(app.state, view)
        told = [s.point for s in shapes if isinstance(s, Label) and s.text in names]
        assert len(told) == 2, key
        wide, tall = app.view._card._size  # noqa: SLF001
        left = min(x for x, _ in told) // (view.canvas[0] / 2) and view.canvas[0] - wide
        spots = [view.to_canvas(tap.at_px) for tap in frame.taps]
        assert not [at for at in spots if left < at[0] < left + wide and at[1] < tall], key
    app.press("n")
    shapes = app.view.overlay(app.state, app.bench.pane.view)
    assert not names & {s.text for s in shapes if isinstance(s, Label)}, "not over the measures"


def lengths_shown(app: Driver) -> dict[str, tuple[CheckLine, Shapes]]:
    """Open all folds and return key -> (line, its drawing) of every line that is a length."""
    for fold in FOLDS:
        app.click(app.view.list.folds[fold])
    found = {}
    for line in app.view.list._lines:  # noqa: SLF001
        if line.verdict and line.verdict.result.key in LENGTHS and line.value:
            app.view.list.tree.selection_set(line.key)
            app.pump()
            shapes = app.view.overlay(app.state, app.bench.pane.view)
            found[line.verdict.result.key] = line, shapes
    return found


def test_the_limit_of_a_length_is_a_stroke_on_its_measuring_line(app: Driver) -> None:
    """The stroke lies from the first point on as far as limit ÷ value says; never for an angle."""
    found = lengths_shown(app)
    assert "leg_stack" in found and "separation_behind" in found
    unit, view = app.window.look.unit, app.bench.pane.view
    for key, (line, shapes) in found.items():
        told = {s.text: s for s in shapes if isinstance(s, Label)}
        band = line.verdict.band
        limits = {
            f"limit {edge:g}" for edge in (band.limit_low, band.limit_high) if edge is not None
        }
        assert len(limits & set(told)) == 1, key
        lines = [s for s in shapes if isinstance(s, Line) and s.width == 4.0 * unit]
        assert len(lines) == 1, key
        (xa, ya), (xb, yb) = lines[0].points
        stroke = (xa + xb) / 2, (ya + yb) / 2
        names = [n.replace("leg ", "near ").replace("other ", "far ") for n in LENGTHS[key][:2]]
        leg = line.verdict.result.leg
        if leg == "far":
            swap = {"near": "far", "far": "near"}
            names = [" ".join(swap.get(word, word) for word in name.split()) for name in names]
        frame = app.state.step.key_frame(line.event)
        a, b = (view.to_canvas(frame.at(name)) for name in names)
        (limit,) = (float(words.split()[1]) for words in limits & set(told))
        share = limit / line.verdict.result.value
        i = 0 if LENGTHS[key][2] else 1
        assert stroke[i] == pytest.approx(a[i] + share * (b[i] - a[i]), abs=1.0), key
    angle = next(
        line
        for line in app.view.list._lines  # noqa: SLF001
        if line.verdict and line.verdict.result.key == "reach"
    )
    app.view.list.tree.selection_set(angle.key)
    app.pump()
    shapes = app.view.overlay(app.state, app.bench.pane.view)
    assert not [s for s in shapes if isinstance(s, Label) and s.text.startswith("limit")]


def test_a_bar_that_is_held_while_the_text_grows_is_let_go(app: Driver) -> None:
    app.root.geometry("1024x568+0+0")  # too low for the list in any system's letters
    app.pump()
    app.root.setvar("ttk::Repeat(delay)", "1")  # ms until a held bar goes on by itself
    held = [w for w in mapped(app.root) if isinstance(w, ttk.Scrollbar)]
    assert held
    for bar in held:
        bar.event_generate("<ButtonPress-1>", x=5, y=bar.winfo_height() - 30)
    app.press("Control-Key-plus")
    app.rest(50)
    assert not any(bar.winfo_exists() for bar in held)  # and what fails in a timer fails the test


@drawn_by_tk
def test_an_open_list_of_choices_goes_with_its_field(app: Driver) -> None:
    menu = app.window.look.choices.menu
    box = next(w for w in mapped(app.root) if isinstance(w, ttk.Combobox))
    app.window.look.choices.post(str(box))
    assert menu.index("end") is not None
    app.context.perform("larger text")
    app.pump()
    assert not box.winfo_exists() and menu.index("end") is None and not menu.winfo_ismapped()
