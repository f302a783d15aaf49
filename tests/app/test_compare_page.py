"""Two athletes side by side, different direction and zoom, on the screen.

The second athlete is the first one in a mirror and smaller. If both are aligned at the hip, scaled
to leg length and turned the same way, the two halves of the page show the same picture.
"""

from dataclasses import replace
from pathlib import Path
from tkinter import ttk
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tapmark.app.shell.comparing import choose_other, left_and_right
from tapmark.app.shell.runs import open_run
from tapmark.marks.people import Slot
from tapmark.marks.points import SIDE_EVENTS, STANDARD
from tapmark.marks.run import ANGLE, LINE, FreeMark, KeyFrame, Run, SetUp, Source, Step, Tap
from tapmark.report.drawing.painter import Fonts, paint
from tapmark.report.drawing.shapes import Label
from tapmark.store.pictures import way_to
from tapmark.store.squad import Squad, make_squad
from tests.app.clipping import clipped, mapped
from tests.app.driving import SAMPLES, Driver, OpenWindow
from tests.store.made import consenting

DAY, SMALLER = "2026-05-14", 0.7
STILLS = sorted((SAMPLES / "P02").glob("*.jpg"))
APART, ALIKE = 20.0, 8.0  # grey levels of 255


def put_stills(squad: Squad, code: str, truth: dict[str, Any], folder: Path, scale: float) -> None:
    """Give an athlete a run of five stills; a scale below 1 also turns them round."""
    folder.mkdir()
    is_turned = scale != 1.0
    for path in STILLS:
        still = Image.open(path)
        size = (round(still.width * scale), round(still.height * scale))
        small = still.resize(size, Image.Resampling.LANCZOS)
        if is_turned:
            small = small.transpose(Image.Transpose.FLIP_LEFT_RIGHT)
        small.save(folder / path.name, quality=95)
    wide = size[0]

    def placed(at: tuple[float, float]) -> tuple[float, float]:
        x, y = at[0] * scale, at[1] * scale
        return (wide - x, y) if is_turned else (x, y)

    frames = tuple(
        KeyFrame(
            event,
            i,
            taps=tuple(
                Tap(point, placed(truth["stills"][event]["points"][point]))
                for point in STANDARD[event]
            ),
        )
        for i, event in enumerate(SIDE_EVENTS)
    )
    squad.save_athlete(consenting(code))
    set_up = SetUp(direction="left to right" if is_turned else "right to left", pain="no")
    name = squad.new_run(code, DAY, Run())
    source = Source("stills", way_to(folder, squad.run_path(code, DAY, name)), size, len(STILLS))
    squad.save_run(code, DAY, name, Run(source=source, set_up=set_up, steps=(Step(frames),)))


@pytest.fixture
def app(open_app: OpenWindow, tmp_path: Path, truth: dict[str, Any]) -> Driver:
    """The page with two athletes on it."""
    squad = make_squad(tmp_path / "squad", "Two")
    put_stills(squad, "K07", truth, tmp_path / "k07", 1.0)
    put_stills(squad, "M12", truth, tmp_path / "m12", SMALLER)
    driver = open_app(squad.folder)
    driver.pick("K07")
    driver.keyboard_on(driver.view.list)
    driver.press("Return")
    driver.pump(lambda: driver.state.marking.gallery, "the pictures")
    driver.go("review")
    driver.context.perform("compare")
    driver.pump(lambda: driver.state.page == "compare", "side by side")
    driver.choose(driver.view.athlete, "M12")
    driver.pump(lambda: driver.state.compare.gallery and driver.state.compare.content, "M12")
    return driver


def halves(app: Driver) -> list[np.ndarray[Any, Any]]:
    """Return what both halves show, grey; a px of width that cannot be shared is left out."""
    image = app.bench.pane._shown.image.copy()  # noqa: SLF001
    paint(image, app.view.overlay(app.state, app.bench.pane.view), Fonts(1.0))
    whole = np.asarray(image.convert("L"), float)
    both = [half.place for half in app.view.halves(app.state, app.state.marking.picture)]
    cuts = [whole[:, round(p.left_top[0]) : round(p.left_top[0]) + p.size[0]] for p in both]
    wide = min(half.shape[1] for half in cuts)
    return [half[:, (half.shape[1] - wide) // 2 :][:, :wide] for half in cuts]


def captions(app: Driver) -> list[str]:
    """Return what stands over each half: code and day."""
    shapes = app.view.still(app.state, app.bench.pane.view)
    told = [shape.text for shape in shapes if isinstance(shape, Label)]
    return [f"{code}, {day}" for code, day in zip(told[::2], told[1::2], strict=True)]


def press(app: Driver, words: str) -> None:
    """Press the button of the column with these words."""
    found = [w for w in mapped(app.bench.column.outer) if isinstance(w, ttk.Button)]
    app.click(next(button for button in found if button.cget("text") == words))


def apart(one: np.ndarray[Any, Any], other: np.ndarray[Any, Any]) -> float:
    """Return how far two pictures are apart in the middle, where the runner is."""
    tall, wide = one.shape
    middle = np.s_[tall // 8 : -tall // 8, wide // 5 : -wide // 5]
    return float(np.abs(one[middle] - other[middle]).mean())


def test_task_28_two_athletes_stand_alike_whatever_their_way_and_zoom(app: Driver) -> None:
    app.keyboard_on(app.bench.pane.canvas)
    for key in ("1", "3", "5"):
        app.press(f"Key-{key}")
        one, other = halves(app)
        assert apart(one, other) < ALIKE, f"key frame {key}"
        assert apart(one, other[:, ::-1]) > APART, "turned round it would not fit"
    assert captions(app) == [
        "K07, 14 May 2026, run 1, left leg near",
        "M12, 14 May 2026, run 1, right leg near, turned round",
    ]
    assert "different" in app.view.about.cget("text").lower()


def test_the_numbers_stand_below_their_runner(app: Driver) -> None:
    content, view = app.state.compare.content, app.view
    headings = [str(view.table.heading(key, "text")) for key in ("first", "second")]
    halves_ = (content.first, content.second)
    for half, caption, heading in zip(halves_, captions(app), headings, strict=True):
        assert caption.startswith(f"{half.code},")
        assert heading == half.code


def test_beside_the_last_visit_the_one_thing_comes_first(app: Driver) -> None:
    """What became of it is the headline, and its row is chosen, in sight and drawn on both."""
    squad, before = app.state.squad, "2026-04-09"
    run = squad.load_run("K07", DAY, "run-1")
    run = replace(run, set_up=replace(run.set_up, speed_mps=9.5))
    squad.save_run("K07", DAY, "run-1", run)
    squad.new_run("K07", before, run)
    squad.save_visit(replace(squad.visit("K07", before), slots=(Slot(1, since=before),)))
    open_run(app.context, "K07", DAY, "run-1")
    app.context.go("review")
    app.context.perform("compare")
    choose_other(app.context, ("K07", before, "run-1"))
    app.pump(lambda: app.state.compare.content, "the numbers")
    app.pump(lambda: app.view.table.selection(), "the row of the one thing")

    view, content = app.view, app.state.compare.content
    (line,) = content.since
    assert view.headline.cget("text") == f"{line.name}: {line.word}."
    (chosen,) = view.table.selection()
    assert content.rows[int(chosen)].word and view.table.bbox(chosen)
    assert app.state.compare.row == int(chosen)
    clocks = view.clocks.canvas
    texts = {clocks.itemcget(i, "text") for i in clocks.find_all() if clocks.type(i) == "text"}
    assert {"9 Apr", "14 May"} <= texts, "one athlete: the two lines are named by their days"
    landing = {"near": "touchdown", "far": "opposite touchdown"}
    assert app.state.marking.event == landing[content.rows[int(chosen)].leg]
    toe_off = next(i for i, row in enumerate(content.rows) if row.key == "thigh_toe_off")
    view.table.selection_set(str(toe_off))
    app.pump()
    assert app.state.marking.event == "toe-off", "the pictures go where the row was read"
    tall = view.look.style.lookup("Beside.Treeview", "rowheight")
    assert int(tall) <= 2 * view.look.font("body").metrics("linespace") + view.look.units(1)


def test_two_runs_of_one_day_stand_in_the_order_of_their_numbers(app: Driver) -> None:
    squad = app.state.squad
    run = squad.load_run("K07", DAY, "run-1")
    for i in range(2, 11):
        squad.save_run("K07", DAY, f"run-{i}", run)
    for mine, other in (("run-2", "run-10"), ("run-10", "run-2")):
        open_run(app.context, "K07", DAY, mine)
        app.context.go("review")
        app.context.perform("compare")
        choose_other(app.context, ("K07", DAY, other))
        assert [at[2] for at in left_and_right(app.context.state)] == ["run-2", "run-10"]
        app.pump(lambda: app.state.compare.content, "the numbers")
        app.pump(lambda: app.view.table.get_children(), "the table")
        assert [text.split(", ")[2] for text in captions(app)] == ["run 2", "run 10"]
        headings = [str(app.view.table.heading(key, "text")) for key in ("first", "second")]
        assert headings == ["run 2", "run 10"]
        words = [row.word for row in app.state.compare.content.rows if row.word]
        named = [app.view.table.item(i, "text") for i in app.view.table.get_children()]
        assert words and sum(text.splitlines()[-1].strip() in words for text in named) == len(words)
        assert not app.view.table.selection(), "nothing of two passes was a thing to work on"


def test_the_page_is_the_bench_nothing_moves_from_review_to_beside_and_back(app: Driver) -> None:
    def places() -> list[tuple[int, ...]]:
        bench = app.bench
        below = bench._below  # noqa: SLF001
        widgets = (bench.pane.canvas, bench.transport.frame, below, bench.column.outer)
        return [
            (w.winfo_rootx(), w.winfo_rooty(), w.winfo_width(), w.winfo_height()) for w in widgets
        ]

    beside = places()
    press(app, "Drawing")
    app.pump(lambda: app.state.page == "drawing", "Drawing")
    assert places() == beside
    press(app, "Checklist")
    app.pump(lambda: app.state.page == "review", "Review")
    assert places() == beside
    press(app, "Beside")
    app.pump(lambda: app.state.page == "compare", "Beside")
    assert places() == beside


@pytest.mark.parametrize(
    ("size", "text"), [("1366x736", 1.0), ("1024x568", 1.0), ("1366x736", 1.5)]
)
def test_no_words_of_the_column_are_cut(app: Driver, size: str, text: float) -> None:
    app.root.geometry(f"{size}+0+0")
    app.context.settings.change(replace(app.context.settings.value, text_size=text))
    app.window.lay_out_again()
    app.pump(lambda: app.view.table.get_children(), "the table")
    app.pump()
    assert clipped(app.bench.column.outer) == []
    view, room = app.view, app.view.table.column("#0", "width")
    measure = app.window.look.font("body").measure
    for row in view.table.get_children():
        for line in str(view.table.item(row, "text")).splitlines():
            assert measure(line) <= room, line


def test_what_is_drawn_over_the_frames_is_ticked(app: Driver) -> None:
    """Figures, own lines, angles and paths come and go with their boxes, on both runs."""
    state, first = app.state, app.state.step.key_frames[0].picture
    for kind, at in (
        (LINE, ((10.0, 10.0), (60.0, 90.0))),
        (ANGLE, ((9.0, 9.0), (50.0, 9.0), (9.0, 50.0))),
    ):
        mark = FreeMark(kind, first, at)
        state.record(kind, replace(state.run, free_marks=(*state.run.free_marks, mark)))
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Key-1")
    counts = {}
    for what, tick in app.view.ticks.items():
        assert tick.instate(["selected"]), what
        before = len(app.view.overlay(state, app.bench.pane.view))
        app.click(tick)
        counts[what] = before - len(app.view.overlay(state, app.bench.pane.view))
        assert tick.instate(["!selected"]), what
    assert counts["lines"] > 0 and counts["angles"] > 0 and counts["figure"] > 20
    assert app.view.overlay(state, app.bench.pane.view) == ()
    app.click(app.view.ticks["figure"])
    assert len(app.view.overlay(state, app.bench.pane.view)) == counts["figure"]


def test_a_chosen_measure_shows_its_angle_on_both_with_their_own_values(app: Driver) -> None:
    rows = app.state.compare.content.rows
    i = next(i for i, row in enumerate(rows) if row.key == "reach")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Key-1")
    app.view.table.selection_set(str(i))
    app.pump()
    told = [
        s.text for s in app.view.overlay(app.state, app.bench.pane.view) if isinstance(s, Label)
    ]
    assert [text for text in told if "±" in text] == [
        f"{rows[i].first} {rows[i].unit}",
        f"{rows[i].second} {rows[i].unit}",
    ]
    assert rows[i].first in app.view.hint() and rows[i].second in app.view.hint()


def test_one_run_stands_above_the_other_if_wished(app: Driver) -> None:
    beside = [half.place for half in app.view.halves(app.state, app.state.marking.picture)]
    assert beside[0].left_top[1] == beside[1].left_top[1] == 0.0
    press(app, "Above each other")
    above = [half.place for half in app.view.halves(app.state, app.state.marking.picture)]
    assert above[0].left_top[0] == above[1].left_top[0] == 0.0
    assert above[1].left_top[1] > above[0].size[1]
    app.keyboard_on(app.bench.pane.canvas)
    app.press("a")
    assert [half.place for half in app.view.halves(app.state, app.state.marking.picture)] == beside


def test_the_two_ground_lines_go_by_one_clock_and_a_press_goes_to_a_key_frame(app: Driver) -> None:
    clocks = app.view.clocks
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Key-1")
    assert len(clocks._spots) == 10, "five of each run"  # noqa: SLF001
    x = clocks._spots[2][0]  # noqa: SLF001
    clocks.canvas.event_generate("<Button-1>", x=round(x), y=20)
    app.pump()
    assert app.state.marking.event == SIDE_EVENTS[2]
    assert app.state.marking.picture == app.state.step.key_frames[2].picture
    (here,) = clocks.canvas.find_withtag("place")
    assert clocks.canvas.coords(here)[0] == pytest.approx(x, abs=1)
