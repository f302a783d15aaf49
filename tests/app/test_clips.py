"""Naming a folder of clips by keyboard, finding moved clips, letting clips go after marking."""

import os
import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from tapmark.app.squad.copies import clips_to_delete
from tapmark.marks.run import Run
from tapmark.store.shots import load_list
from tapmark.store.squad import Squad, make_squad, open_squad
from tests.app.clipping import clipped
from tests.app.driving import SAMPLES, Driver, OpenWindow
from tests.app.made import bare_context
from tests.store.made import consenting

FILMED = datetime(2026, 5, 14, 18, 0).timestamp()
DAY = "2026-05-14"


@pytest.fixture
def squad(tmp_path: Path) -> Squad:
    made = make_squad(tmp_path / "Tuesday", "Tuesday")
    for code in ("K07", "M12", "T14"):
        made.save_athlete(consenting(code))
    made.new_run("K07", "2026-05-01", Run())
    return made


@pytest.fixture
def phone(tmp_path: Path) -> Path:
    folder = tmp_path / "phone"
    folder.mkdir()
    for i in range(4):
        clip = folder / f"IMG_{i}.MOV"
        shutil.copyfile(SAMPLES / "P02" / "clip.mp4", clip)
        with clip.open("ab") as file:
            file.write(bytes([i]))
        os.utime(clip, (FILMED + 60 * i,) * 2)
    return folder


def begin(app: Driver, phone: Path) -> None:
    app.asked.ready.append(phone)
    app.keyboard_on(app.view.list)
    app.press("Control-Key-k")
    app.pump(
        lambda: app.state.page == "naming" and app.state.around.naming.glances, "the first clip"
    )


def test_codes_are_typed_one_after_the_other_and_become_runs(
    open_app: OpenWindow, squad: Squad, phone: Path
) -> None:
    app = open_app(squad.folder)
    begin(app, phone)
    code = app.view.code
    assert app.root.focus_get() is code and code.get() == "M12"  # from the shot log
    assert clipped(app.root) == []

    app.press("Return")
    code.delete(0, "end")
    app.write(code, "k07")
    app.press("Return", "Control-Key-k", "Up")
    assert app.state.around.naming.i_shot == 2
    named = [(s.code, s.state) for s in load_list(squad, DAY).shots]
    assert named[:3] == [("M12", "named"), ("K07", "named"), ("", "skipped")]

    app.press("Control-Key-Return")
    app.pump(lambda: "2 runs made" in app.state.status, "the runs")
    assert squad.run_names("M12", DAY) == squad.run_names("K07", DAY) == ("run-1",)


def test_an_unknown_code_is_told_below_the_field_and_nothing_is_named(
    open_app: OpenWindow, squad: Squad, phone: Path
) -> None:
    app = open_app(squad.folder)
    begin(app, phone)
    app.view.code.delete(0, "end")
    app.write(app.view.code, "k99")
    app.press("Return")

    assert app.view.trouble.cget("text") == "The squad has no athlete “k99”. There is K07."
    assert app.state.around.naming.i_shot == 0 and not (squad.folder / f"shots-{DAY}.json").exists()


def test_a_broken_off_evening_goes_on_at_the_next_clip_and_takes_new_ones_in(
    open_app: OpenWindow, squad: Squad, phone: Path, tmp_path: Path
) -> None:
    later = phone / "IMG_3.MOV"
    later.rename(tmp_path / "later.MOV")
    app = open_app(squad.folder)
    begin(app, phone)
    app.press("Return")
    app.press("Escape")
    (tmp_path / "later.MOV").rename(later)

    app.pump(lambda: app.state.page == "squad")
    begin(app, phone)

    shots = app.state.around.naming.shots.shots
    assert [s.state for s in shots] == ["named", "to name", "to name", "to name"]
    assert app.state.around.naming.i_shot == 1


def test_a_folder_without_clips_is_told(open_app: OpenWindow, squad: Squad, tmp_path: Path) -> None:
    app = open_app(squad.folder)
    (tmp_path / "empty").mkdir()
    app.asked.ready.append(tmp_path / "empty")
    app.keyboard_on(app.view.list)
    app.press("Control-Key-k")

    assert "There is no clip in “empty”" in app.state.error and app.state.page == "squad"


def test_a_clip_that_cannot_be_shown_says_so_and_can_be_left_out(
    open_app: OpenWindow, squad: Squad, phone: Path
) -> None:
    (phone / "IMG_0.MOV").write_text("no clip", "utf-8")
    os.utime(phone / "IMG_0.MOV", (FILMED,) * 2)
    app = open_app(squad.folder)
    begin(app, phone)

    assert "IMG_0.MOV" in app.state.status
    app.press("Control-Key-k")
    assert load_list(squad, DAY).shots[0].state == "skipped"


# moved clips, and clips that may go


def test_a_moved_clip_is_found_by_what_is_in_it(
    tmp_path: Path, marked_squad: Callable[[], Path]
) -> None:
    from tapmark.app.shell.squads import use_squad

    folder = marked_squad()
    squad = open_squad(folder)
    lost = squad.load_run("P02", DAY, "run-1")
    squad.save_run("P02", DAY, "run-1", replace(lost, source=replace(lost.source, path="gone.mp4")))
    (tmp_path / "stick").mkdir()
    shutil.copyfile(SAMPLES / "P02" / "clip.mp4", tmp_path / "stick" / "renamed.mp4")
    context = bare_context(tmp_path / "home")
    use_squad(context, folder)
    context.ask.ready.append(tmp_path / "stick")  # type: ignore[attr-defined]

    context.perform("find clips")

    (line,) = context.state.around.proposal.proposal.lines  # type: ignore[union-attr]
    assert line.cells == ("P02", "14 May 2026, run 1", str(tmp_path / "stick" / "renamed.mp4"))
    found = squad.load_run("P02", DAY, "run-1").source.path
    assert (squad.run_path("P02", DAY, "run-1").parent / found).resolve() == (
        tmp_path / "stick" / "renamed.mp4"
    ).resolve()


def test_a_clip_goes_only_when_chosen_and_its_other_uses_are_named_first(
    tmp_path: Path, marked_squad: Callable[[], Path]
) -> None:
    from tapmark.app.shell.proposals import choose
    from tapmark.app.shell.squads import choose_athlete, use_squad
    from tapmark.store.pictures import clip_of

    squad = open_squad(marked_squad())
    clip = tmp_path / "clip.mp4"
    shutil.copyfile(SAMPLES / "P02" / "clip.mp4", clip)
    run = squad.load_run("P02", DAY, "run-1")
    own = replace(run, source=clip_of(clip, squad.run_path("P02", DAY, "run-1"), run.source))
    squad.save_run("P02", DAY, "run-1", own)
    squad.new_run("P02", DAY, own)
    context = bare_context(tmp_path / "home")
    use_squad(context, squad.folder)
    choose_athlete(context, "P02")

    context.perform("delete clips")
    (line,) = context.state.around.proposal.proposal.lines  # type: ignore[union-attr]
    assert line.cells == ("clip.mp4", "run 2 of P02 on 14 May 2026", "0")
    context.perform("do it")
    assert clip.exists() and "No clip was chosen" in context.state.status

    context.perform("delete clips")
    choose(context.state, "0", "delete")
    context.perform("do it")
    assert not clip.exists() and "points stay" in context.state.status
    assert squad.load_run("P02", DAY, "run-1") == own


def test_a_visit_without_clips_says_that_there_is_nothing_to_delete(squad: Squad) -> None:
    said = clips_to_delete(squad, "K07")

    assert said.title == "No clip to delete" and said.action is None
