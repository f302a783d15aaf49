"""The Squad page with real keys and clicks: forms, lists, deleting, archived, nobody, sixty."""

import gc
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from tapmark.app.widgets.columns import Column
from tapmark.marks.days import long_day
from tapmark.marks.run import Run
from tapmark.report.drawing.signs import CHANGES
from tapmark.store.consent import withdraw
from tapmark.store.squad import Squad, make_squad, open_squad
from tests.app.awkward import FORMS
from tests.app.clipping import clipped
from tests.app.driving import Driver, OpenWindow, skip_if_smaller
from tests.app.looks import texts
from tests.app.seasons import DAYS, with_season
from tests.store.made import consenting, squad_of

CODES = ("K02", "K07", "M12", "T14")


@pytest.fixture
def squad(tmp_path: Path) -> Squad:
    return squad_of(tmp_path / "Tuesday", CODES)


def shown(app: Driver) -> list[str]:
    """The list as a person reads it, headings and codes, from the top."""
    canvas, roster = app.view.list, app.view.roster
    told = {canvas.bbox(i)[1]: canvas.itemcget(i, "text") for i in canvas.find_withtag("heading")}
    told |= {roster.middle_of(code): code for code in roster.codes}
    return [told[y] for y in sorted(told)]


def test_keys_alone_change_an_athlete(open_app: OpenWindow, squad: Squad) -> None:
    app = open_app(squad.folder)
    app.keyboard_on(app.view.list)
    app.press("Control-Key-e")
    app.write(app.view.form.fields["own_cue"], "push")
    app.press("Return")

    assert squad.athlete("K02").own_cue == "push"
    assert app.root.focus_get() is app.view.list and not app.state.around.squad.form


def test_a_field_that_cannot_be_used_says_so_below_itself_until_it_is_mended(
    open_app: OpenWindow, squad: Squad
) -> None:
    app = open_app(squad.folder)
    app.keyboard_on(app.view.list)
    app.press("Control-Shift-Key-A")
    form = app.view.form
    app.write(form.fields["code"], "k07")
    app.press("Return")
    assert "already" in form._notes["code"].cget("text")  # noqa: SLF001
    assert "invalid" in form.fields["code"].state()

    form.fields["code"].delete(0, "end")
    app.write(form.fields["code"], "Z1")
    app.press("Return")

    assert squad.codes() == (*CODES, "Z1") and app.state.around.squad.form == "consent"


def test_escape_leaves_a_form_writes_nothing_and_lets_other_actions_act(
    open_app: OpenWindow, squad: Squad
) -> None:
    app = open_app(squad.folder)
    before = squad.athlete("K02")
    app.keyboard_on(app.view.list)
    app.press("Control-Key-e")
    app.write(app.view.form.fields["notes"], "no")
    app.press("Escape")

    assert before == squad.athlete("K02") and not app.state.around.squad.form
    app.press("Control-Key-t")
    assert (app.state.page, app.state.error) == ("season", "")


def test_withdrawing_everything_takes_two_presses_and_the_gate_closes(
    open_app: OpenWindow, squad: Squad
) -> None:
    app = open_app(squad.folder)
    app.keyboard_on(app.view.list)
    app.press("Control-Shift-Key-C")
    everything, nothing = app.view.form.shortcuts.winfo_children()
    assert (everything.cget("text"), nothing.cget("text")) == ("All", "None")
    app.click(nothing)
    app.click(app.view.form.save_button)

    states = {c.use: c.withdrawn for c in squad.athlete("K02").consents}
    assert set(states.values()) == {"2026-05-14"}
    (row,) = (row for row in app.state.around.squad.rows if row.code == "K02")
    assert (row.group, row.thing) == ("Not now", "consent withdrawn")
    assert "consent withdrawn" in texts(app.view.roster.frame)
    app.keyboard_on(app.view.list)
    app.press("Control-Key-n")
    assert "withdrawn" in app.state.error and app.state.page == "squad"


def test_a_letter_while_the_pages_are_built_anew_is_left_alone(
    open_app: OpenWindow, squad_folder: Path
) -> None:
    app = open_app(squad_folder)
    app.pump(lambda: app.view.roster.codes, "the list")
    app.window.lay_out_again()

    app.root.event_generate("<Key>", keysym="p")  # an error in a callback fails the test
    app.pump()

    assert app.view.find.get() == ""
    app.keyboard_on(app.view.list)
    app.press("Key-p")
    assert app.view.find.get() == "p"


def test_what_waits_for_an_idle_moment_gives_way_when_the_pages_are_built_anew(
    open_app: OpenWindow, squad_folder: Path
) -> None:
    app = open_app(squad_folder)
    app.pump(lambda: app.view.roster.codes, "the list")
    app.view.find.event_generate("<Key>", keysym="p")

    app.window.lay_out_again()
    app.pump()  # an error of Tcl fails the test as one of a callback does

    assert app.view.find.get() == "" and app.view.roster.codes


def test_pages_that_are_gone_are_not_held(open_app: OpenWindow, squad_folder: Path) -> None:
    app = open_app(squad_folder)
    fields, images = len(app.context.fields), len(app.root.image_names())
    for _ in range(3):
        app.window.lay_out_again()
        app.pump()
    app.rest(1_000)  # what was put off for the pages that are gone
    gc.collect()

    assert 0 < len(app.context.fields) <= fields
    held = [each for each in gc.get_objects() if isinstance(each, Column)]
    gone = [str(c.outer) for c in held if c.outer.tk == app.root.tk and not c.outer.winfo_exists()]
    assert gone == []
    assert len(app.root.image_names()) <= images


def test_typing_letters_anywhere_finds_and_return_opens_the_last_visit(
    open_app: OpenWindow, squad: Squad
) -> None:
    squad.new_run("T14", "2026-05-01", Run())
    app = open_app(squad.folder)
    app.keyboard_on(app.view.list)
    app.press("t", "Key-1")
    assert app.view.find.get() == "t1" and shown(app)[1:] == ["T14"]
    assert app.state.athlete.code == "T14"
    app.press("Return")
    assert (app.state.page, app.state.visit.dated) == ("film", "2026-05-01")

    app.go("squad")
    app.press("slash")
    app.write(app.view.find, "m")
    app.press("Escape")
    assert len(app.view.roster.codes) == 4 and app.root.focus_get() is app.view.list


def test_arrows_walk_through_the_list_and_two_presses_open_the_season(
    open_app: OpenWindow, squad: Squad
) -> None:
    app = open_app(squad.folder)
    app.keyboard_on(app.view.list)
    app.press("Home")
    assert app.state.athlete.code == "K02"
    app.press("Down", "Down")
    assert app.state.athlete.code == "M12"
    app.press("End", "Down")
    assert app.state.athlete.code == "T14"
    app.press("Up")
    canvas, y = app.view.list, app.view.roster.middle_of("K07")
    for event in ("ButtonPress-1", "ButtonRelease-1") * 2:
        canvas.event_generate(f"<{event}>", x=50, y=y)
    app.pump(lambda: app.state.page == "season", "the season")
    assert app.state.athlete.code == "K07"


def test_a_code_that_nobody_has_is_told_and_the_list_comes_back(
    open_app: OpenWindow, squad: Squad
) -> None:
    app = open_app(squad.folder)
    app.pump(lambda: app.state.athlete, "the athletes")
    app.write(app.view.find, "zz")
    assert app.view.roster.codes == ()
    assert app.window.status.line.cget("text").startswith("No athlete has “zz”.")
    app.press("BackSpace", "BackSpace")
    assert app.view.roster.codes


def test_archived_ones_leave_the_list_and_h_shows_them(open_app: OpenWindow, squad: Squad) -> None:
    squad.save_athlete(replace(squad.athlete("M12"), is_archived=True))
    app = open_app(squad.folder)
    assert "M12" not in shown(app)
    app.keyboard_on(app.view.list)
    app.press("Control-Shift-Key-H")
    assert shown(app)[-2:] == ["Archived", "M12"]
    app.pick("M12")
    app.press("Control-Shift-Key-X")
    assert not squad.athlete("M12").is_archived and "Archived" not in shown(app)


def test_deleting_by_keyboard_needs_the_code_typed(open_app: OpenWindow, squad: Squad) -> None:
    app = open_app(squad.folder)
    app.keyboard_on(app.view.list)
    app.press("Control-Key-Delete")
    app.pump(lambda: app.state.page == "proposal", "the dry run")
    confirm = app.view.confirm
    assert "disabled" in confirm.state()
    app.write(app.view.typed, "K02")
    assert "disabled" not in confirm.state()
    app.press("Return")
    app.pump(lambda: "K02" not in squad.codes(), "the action")

    assert app.view.title.cget("text") == "K02 is deleted"
    app.press("Escape")
    app.pump(lambda: app.state.page == "squad")
    assert "K02" not in shown(app)


def test_a_line_of_a_merge_is_chosen_with_space(
    open_app: OpenWindow, squad: Squad, tmp_path: Path
) -> None:
    shutil.copytree(squad.folder, tmp_path / "other")
    theirs = open_squad(tmp_path / "other")
    theirs.save_athlete(replace(theirs.athlete("K02"), notes="theirs"))
    app = open_app(squad.folder)
    app.asked.ready.append(tmp_path / "other")
    app.context.perform("merge")
    app.pump(lambda: app.state.page == "proposal", "the plan")
    app.keyboard_on(app.view.list)
    app.press("space")
    assert app.view.list.item("line 0", "values")[-1] == "theirs counts"
    app.press("Control-Key-Return")
    app.pump(lambda: squad.athlete("K02").notes == "theirs", "the merge")


# what a coach may meet


START = ["open sample", "practise", "make squad", "open squad"]


def test_no_squad_and_nobody_in_it_show_what_to_do_and_nothing_else(
    open_app: OpenWindow, tmp_path: Path
) -> None:
    app = open_app()
    assert not app.view.list.winfo_ismapped()
    begin = app.view.begin
    assert [name for name, b in begin.buttons.items() if b.winfo_ismapped()] == START
    assert "Opened before" not in set(texts(app.root)) and clipped(app.root) == []
    squad = make_squad(tmp_path / "New", "New")
    app.asked.ready.append(squad.folder)
    app.keyboard_on(app.root)
    app.press("Control-Key-o")
    assert app.view.empty_words.cget("text") == "No athletes yet. Add one or import a list."
    assert [n for n, b in app.view.empty_buttons.items() if b.winfo_ismapped()] == [
        "add athlete",
        "import list",
    ]
    assert not begin.frame.winfo_ismapped() and not app.view.picture.frame.winfo_ismapped()


@pytest.mark.parametrize("size", ["1366x700+0+0", "1024x540+0+0"])
def test_the_start_page_shows_the_sample_and_the_whole_of_the_five_steps(
    open_app: OpenWindow, size: str
) -> None:
    app = open_app(size=size)
    picture = app.view.picture
    app.pump(lambda: len(picture._photos) == 6, "the picture and five figures")  # noqa: SLF001
    said = set(texts(picture.frame))
    assert {"1  Film", "2  Frames", "3  Taps", "4  Review", "5  Sheet"} <= said
    words = [i for i in picture.steps.find_all() if picture.steps.type(i) == "text"]
    low = max(picture.steps.bbox(item)[3] for item in words)
    assert len(words) == 10 and low <= picture.steps.winfo_height()
    below = picture.steps.winfo_y() + picture.steps.winfo_height()
    assert below == picture.frame.winfo_height() and picture.picture.winfo_height() > 150


def test_one_press_opens_the_sample_on_its_review_and_again_the_same_one(
    open_app: OpenWindow,
) -> None:
    app = open_app()
    app.click(app.view.begin.buttons["open sample"])
    app.pump(lambda: app.state.page == "review" and app.state.review.reading, "the review")
    assert (app.state.athlete.code, app.state.visit.dated) == ("P02", "2026-05-14")
    assert app.asked.boxes == [], "no dialog"
    first = app.state.folder
    app.wait_for_clip()
    app.go("squad")
    app.context.perform("open sample")
    app.pump(lambda: app.state.page == "review", "the review")
    assert app.state.folder == first


def test_a_squad_opened_before_is_one_press_away_when_its_stick_was_gone(
    open_app: OpenWindow, squad: Squad
) -> None:
    open_app(squad.folder).close()
    away = squad.folder.with_name("away")
    squad.folder.rename(away)
    app = open_app()
    assert app.state.squad is None and "Opened before" in set(texts(app.root))
    *_, again = app.view.begin.recent.winfo_children()
    app.click(again)
    assert "Tuesday" in app.state.error and app.state.squad is None
    away.rename(squad.folder)
    app.click(again)
    assert app.state.folder == squad.folder and not app.state.error


def big(folder: Path) -> Squad:
    """60 athletes, some with the longest codes, 40 of them due."""
    squad = make_squad(folder, "A squad with a rather long name for its evening")
    for i in range(60):
        code = f"JM-{i:02}-SP-MID"[:12] if i % 3 else f"K{i:02}"
        squad.save_athlete(replace(consenting(code), group="400 and 800 m hurdles"))
        if i % 3 == 0:
            squad.new_run(code, "2026-05-01", Run())
    return squad


@pytest.mark.parametrize("scaling", [1.3333, 2.6667], ids=["100 %", "200 %"])
def test_sixty_athletes_with_long_codes_are_spread_over_evenings_and_nothing_is_clipped(
    open_app: OpenWindow, tmp_path: Path, scaling: float
) -> None:
    size = "1366x700+0+0" if scaling < 2 else "2732x1400+0+0"
    app = open_app(big(tmp_path / "big").folder, size=size, scaling=scaling)
    skip_if_smaller(app, size)

    headings = [text for text in shown(app) if text.startswith(("Film this week", "Later"))]
    evenings = [f"Film this week, evening {i}/5" for i in range(1, 6)]
    assert headings == [*evenings, "Later"]  # 40 names, 8 an evening
    assert clipped(app.root) == []
    for key, _ in FORMS:
        app.keyboard_on(app.view.list)
        app.press(key)
        assert clipped(app.root) == [], key
        app.press("Escape")


def test_a_damaged_file_is_told_with_a_button_that_lists_it(
    open_app: OpenWindow, squad: Squad
) -> None:
    (squad.athlete_folder("M12") / "athlete.json").write_text("{", "utf-8")
    app = open_app(squad.folder)

    assert "M12" not in shown(app) and "K07" in shown(app)
    buttons = [w for w in app.view.notices.frame.winfo_children() if w.winfo_class() == "TButton"]
    app.click(buttons[0])
    app.pump(lambda: app.state.page == "proposal", "the findings")
    ways = [app.view.list.item(i, "values") for i in app.view.list.get_children()]
    assert any("athletes/M12/athlete.json" in str(way) for way in ways)


def test_the_panel_says_a_race_is_near_and_the_row_shows_the_last_step(
    open_app: OpenWindow, marked_squad: Callable[[], Path]
) -> None:
    folder = marked_squad()
    squad = open_squad(folder)
    squad.save_athlete(replace(squad.athlete("P02"), goal_race="2026-05-20"))
    app = open_app(folder)
    app.pump(lambda: app.view.readings.known, "where the athlete stands")

    assert "Goal race in 6 days" in app.view.panel.note.cget("text")
    images = [i for i in app.view.list.find_all() if app.view.list.type(i) == "image"]
    assert len(images) == 1, "the step"
    assert {"Keep this", "no fault seen"} <= set(texts(app.root))


def test_a_season_shows_how_the_one_thing_went_and_its_trend(
    open_app: OpenWindow, tmp_path: Path
) -> None:
    squad = make_squad(tmp_path / "season", "Season")
    with_season(squad, "K07")
    app = open_app(squad.folder)
    app.pump(lambda: "K07" in app.view.readings.known, "where the athlete stands")

    found = app.view.readings.known["K07"][1]
    assert found.was and found.now and found.word in CHANGES and len(found.points) == 3
    said = set(texts(app.root))
    assert {"Foot ahead of knee", "“Land under you”", found.word} <= said
    assert "One thing since 20 February" in said and "fine to 7, limit 12" in said
    assert app.view.panel.trend.winfo_ismapped()


def test_what_was_marked_since_is_read_again_and_nothing_else_is(
    open_app: OpenWindow, tmp_path: Path
) -> None:
    squad = make_squad(tmp_path / "season", "Season")
    with_season(squad, "K07", DAYS[:1])
    with_season(squad, "K11", DAYS[:1])
    app = open_app(squad.folder)
    app.pump(lambda: len(app.view.readings.known) == 2, "both")
    kept, first = (app.view.readings.known[code] for code in ("K11", "K07"))
    app.press("F1")
    with_season(squad, "K07", DAYS[1:2])
    app.press("F1")
    app.pump(lambda: app.view.readings.known.get("K07", first) is not first, "K07 again")
    assert app.view.readings.known["K11"] is kept
    assert app.view.readings.known["K07"][1].dated == DAYS[1]


def test_the_rule_and_what_stops_filming_stand_in_words(open_app: OpenWindow, squad: Squad) -> None:
    squad.save_athlete(replace(squad.athlete("M12"), consents=(), birth_year=2012))
    squad.save_athlete(replace(squad.athlete("T14"), consents=(), birth_year=1990))
    app = open_app(squad.folder)
    said = list(texts(app.root))
    assert any("never filmed, or more than 5 weeks ago" in text for text in said)
    assert "ask athlete and parent" in said and "ask athlete" in said
    assert "2 to film, 2 not now" in said


def test_the_wheel_scrolls_the_list_and_chooses_nobody(
    open_app: OpenWindow, tmp_path: Path
) -> None:
    app = open_app(big(tmp_path / "big").folder)
    before = app.state.athlete.code
    for _ in range(5):
        app.view.list.event_generate("<Button-5>", x=50, y=50)
    app.pump()
    assert app.view.list.canvasy(0) > 100 and app.state.athlete.code == before
    for _ in range(9):
        app.view.list.event_generate("<Button-4>", x=50, y=50)
    app.pump()
    assert app.view.list.canvasy(0) <= 0


def page_of(squad: Squad, code: str, dated: str, name: str = "sheet.pdf") -> Path:
    path = squad.visit_folder(code, dated) / name
    path.write_bytes(b"%PDF-1.4")
    return path


def test_the_last_page_is_printed_from_the_list(open_app: OpenWindow, squad: Squad) -> None:
    """The newest page of the athlete chosen, whatever else lies beside it."""
    with_season(squad, "K07", DAYS)
    page_of(squad, "K07", DAYS[0])
    last = page_of(squad, "K07", DAYS[1])
    page_of(squad, "K07", DAYS[2], "coach.pdf")
    app = open_app(squad.folder)
    app.pick("K07")
    app.click(app.button("print last page"))

    assert app.opened == [last]
    assert "Sent to the printer" in app.state.status and long_day(DAYS[1]) in app.state.status
    app.keyboard_on(app.view.list)
    app.press("Control-Key-p")
    assert app.opened == [last, last]


def test_without_a_page_nothing_is_printed_and_it_says_how_to_make_one(
    open_app: OpenWindow, squad: Squad
) -> None:
    with_season(squad, "K07", DAYS)
    app = open_app(squad.folder)
    app.pick("K07")
    app.click(app.button("print last page"))

    assert app.opened == []
    assert "No page of K07 is written yet" in app.state.error and "sheet" in app.state.error


def test_after_a_withdrawal_the_last_page_is_not_printed(
    open_app: OpenWindow, squad: Squad
) -> None:
    with_season(squad, "K07", DAYS)
    page_of(squad, "K07", DAYS[0])
    app = open_app(squad.folder)
    app.pick("K07")
    squad.save_athlete(withdraw(squad.athlete("K07"), "film", "parent", DAYS[2]))
    app.click(app.button("print last page"))

    assert app.opened == [] and "K07" in app.state.error


def test_consent_is_reached_from_beside_its_ticks(open_app: OpenWindow, squad: Squad) -> None:
    app = open_app(squad.folder)
    app.pick("K07")
    app.click(app.button("consent"))
    assert app.state.around.squad.form == "consent"
