"""Deleted means deleted."""

import os
import shutil
import subprocess
import sys
import unicodedata
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.errors import CannotWrite, HeldByAnother, NotThere
from tapmark.marks.people import Slot
from tapmark.marks.run import Source
from tapmark.store import archive, files, pictures, shots
from tapmark.store.check import check_squad
from tapmark.store.delete import delete_athlete, finish_deletion, plan_delete
from tapmark.store.open_run import open_run
from tapmark.store.squad import Squad, open_squad
from tests.examples import examples
from tests.links import link
from tests.store import made
from tests.store.test_jpeg import jpeg

NOW = datetime(2026, 5, 14, 21, 0)
CODE = "QX71"


def full_squad(folder: Path) -> Squad:
    """A squad in which QX71 is named or shown in every place we can think of."""
    squad = made.squad_of(folder, (CODE, "M12", "QX71-2"), n_visits=2)
    stills = {(0, "touchdown", 0): jpeg() + CODE.encode()}
    for code in squad.codes():
        pictures.keep_stills(squad, code, "2026-03-14", "run-1", stills, "2026-03-14")
        (squad.visit_folder(code, "2026-03-14") / "sheet.pdf").write_bytes(b"%PDF of " + b"x")
    (squad.visit_folder("M12", "2026-03-14") / f"M12 and {CODE}.pdf").write_bytes(b"%PDF")
    (squad.visit_folder("M12", "2026-03-14") / "sheet.html").write_text(f"with {CODE}", "utf-8")
    visit = replace(
        squad.visit("M12", "2026-03-14"),
        notes=f"ran with {CODE}, not with QX71-2",
        slots=(Slot(1, f"like {CODE}"),),
        extra=((f"beside {CODE}", [CODE]),),
    )
    squad.save_visit(visit)
    squad.save_choices(replace(squad.choices, marker=CODE))
    squad.save_athlete(replace(squad.athlete("QX71-2"), notes="sister of QX71"))
    (squad.folder / "group 2026-05-12.pdf").write_bytes(b"%PDF")
    (squad.folder / "season.csv").write_text(f"{CODE};1,5", "utf-8")
    (squad.folder / "old.zip").write_bytes(f"athletes/{CODE}/athlete.json".encode())
    clip = squad.folder / "clips" / "0412.mp4"
    clip.parent.mkdir()
    clip.write_bytes(b"film of " + CODE.encode())
    for code in (CODE, "M12"):
        run_path = squad.run_path(code, "2026-03-14", "run-1")
        run = squad.load_run(code, "2026-03-14", "run-1")
        source = pictures.clip_of(clip, run_path, Source("clip", size_px=made.SIZE))
        squad.save_run(code, "2026-03-14", "run-1", replace(run, source=source))
    shots.save_list(squad, shots.new_list(squad, "2026-03-14", [clip], [CODE]))
    files.keep_copy(squad.athlete_folder(CODE) / "athlete.json", b"torn", "damaged")
    return squad


def test_after_deleting_no_byte_of_the_code_is_found(tmp_path: Path) -> None:
    squad = full_squad(tmp_path / "squad")

    delete_athlete(squad, plan_delete(squad, CODE), NOW)

    for way, data in made.contents(squad.folder).items():
        for text in (way.encode(), data):
            assert text.count(CODE.encode()) == text.count(b"QX71-2"), way
    assert not squad.athlete_folder(CODE).exists()
    assert not (squad.folder / "clips" / "0412.mp4").exists()


def test_the_others_are_whole_afterwards(tmp_path: Path) -> None:
    squad = full_squad(tmp_path / "squad")
    run = squad.load_run("M12", "2026-03-14", "run-1")

    delete_athlete(squad, plan_delete(squad, CODE), NOW)

    again = open_squad(squad.folder)
    assert again.codes() == ("M12", "QX71-2")
    assert again.load_run("M12", "2026-03-14", "run-1") == run
    visit = again.visit("M12", "2026-03-14")
    assert visit.notes == "ran with (deleted), not with QX71-2"
    assert visit.slots == (Slot(1, "like (deleted)"),)
    assert visit.extra == (("beside (deleted)", ["(deleted)"]),)
    assert again.athlete("QX71-2").notes == "sister of (deleted)"
    assert (again.visit_folder("M12", "2026-03-14") / "sheet.pdf").exists()
    assert again.choices.deleted_on == ("2026-05-14",)


def test_the_dry_run_names_everything_and_touches_nothing(tmp_path: Path) -> None:
    squad = full_squad(tmp_path / "squad")
    before = made.contents(squad.folder)

    plan = plan_delete(squad, CODE)

    assert made.contents(squad.folder) == before
    after = set(before)
    delete_athlete(squad, plan, NOW)
    gone = after - set(made.contents(squad.folder))
    told = {path.relative_to(squad.folder).as_posix() for path in (*plan.own, *plan.pages)}
    assert gone == told | {"clips/0412.mp4"}
    assert {path.name for path in plan.pages} == {
        "group 2026-05-12.pdf",
        "season.csv",
        "old.zip",
        f"M12 and {CODE}.pdf",
        "sheet.html",
    }
    assert [path.name for path in plan.clips] == ["0412.mp4"]
    assert plan.shared == ((plan.clips[0], "M12", "2026-03-14", "run-1"),)
    assert {path.name for path in plan.changed} == {
        "visit.json",
        "squad.json",
        "athlete.json",
        "shots-2026-03-14.json",
    }


def test_the_receipt_says_what_is_out_of_reach(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", (CODE, "M12"))
    clip = tmp_path / "phone" / "0413.mp4"
    clip.parent.mkdir()
    clip.write_bytes(b"film")
    run = squad.load_run(CODE, "2026-03-14", "run-1")
    run_path = squad.run_path(CODE, "2026-03-14", "run-1")
    source = pictures.clip_of(clip, run_path, Source("clip", size_px=made.SIZE))
    squad.save_run(CODE, "2026-03-14", "run-1", replace(run, source=source))

    words = delete_athlete(squad, plan_delete(squad, CODE), NOW)

    assert words.startswith(f"Deleted on 14 May 2026: everything of athlete {CODE}")
    assert "back-ups and copies on other computers or sticks, printed pages" in words
    assert f"Outside the squad, still there: {clip.resolve()}" in words
    assert clip.exists()


def test_an_unknown_athlete_cannot_be_deleted(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")

    with pytest.raises(NotThere, match="no athlete “X9”"):
        plan_delete(squad, "X9")


def test_what_has_half_arrived_can_be_deleted(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", (CODE, "M12"))
    (squad.athlete_folder(CODE) / "athlete.json").unlink()

    delete_athlete(squad, plan_delete(squad, CODE), NOW)

    assert not squad.athlete_folder(CODE).exists()


def test_nothing_is_deleted_while_a_run_is_open(tmp_path: Path) -> None:
    squad = full_squad(tmp_path / "squad")
    before = made.contents(squad.folder)

    with open_run(squad, CODE, "2026-03-14", "run-1", "window", NOW):
        with pytest.raises(HeldByAnother, match="is open in another window: window"):
            delete_athlete(squad, plan_delete(squad, CODE), NOW)
        held = made.contents(squad.folder)

    assert {way: data for way, data in held.items() if ".lock" not in way} == before


def test_a_deletion_that_was_broken_off_can_be_finished(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    squad = full_squad(tmp_path / "squad")
    plan = plan_delete(squad, CODE)
    real, calls = files.remove_file, iter(range(1000))

    def stops(path: Path) -> None:
        if next(calls) >= 9:
            raise CannotWrite("the stick was pulled")
        real(path)

    with monkeypatch.context() as broken, pytest.raises(CannotWrite):
        broken.setattr(files, "remove_file", stops)
        delete_athlete(squad, plan, NOW)

    assert CODE in squad.codes()
    delete_athlete(squad, plan_delete(squad, CODE), NOW)
    assert squad.codes() == ("M12", "QX71-2")


def test_a_link_is_removed_and_what_it_points_to_stays(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", (CODE, "M12"))
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "letter.txt").write_text("dear", "utf-8")
    link(squad.athlete_folder(CODE) / "more", outside)

    delete_athlete(squad, plan_delete(squad, CODE), NOW)

    assert (outside / "letter.txt").exists()
    assert squad.codes() == ("M12",)


@settings(max_examples=examples(12))
@given(made.codes.filter(lambda code: code != "M12" and len(code) > 3), made.words)
def test_no_code_survives_its_deletion(
    tmp_path_factory: pytest.TempPathFactory, code: str, note: str
) -> None:
    squad = made.squad_of(tmp_path_factory.mktemp("s") / "squad", (code, "M12"))
    athlete = squad.athlete("M12")
    squad.save_athlete(replace(athlete, notes=f"{note} {code} {note}", group=code))

    delete_athlete(squad, plan_delete(squad, code), NOW)

    whole = b"".join(w.encode() + d for w, d in made.contents(squad.folder).items())
    assert code.encode() not in whole
    assert squad.codes() == ("M12",)


@settings(max_examples=examples(12))
@given(st.data())
def test_deleting_one_changes_no_mark_of_another(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    squad = made.squad_of(tmp_path_factory.mktemp("s") / "squad", ("side", "M12"))
    run = data.draw(made.runs())
    name = squad.new_run("M12", made.DAY, run)

    delete_athlete(squad, plan_delete(squad, "side"), NOW)

    again = squad.load_run("M12", made.DAY, name)
    assert list(again.taps()) == list(run.taps())
    assert again.view == run.view


def test_pages_that_cannot_be_looked_into_are_named(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", (CODE, "M12"))
    folder = squad.visit_folder("M12", "2026-03-14")
    (folder / "run-9.json").write_bytes(b"torn " + CODE.encode())
    with (folder / "sheet.html").open("wb") as file:
        file.truncate(files.LARGEST_JSON + 1)

    plan = plan_delete(squad, CODE)

    assert {path.name for path in plan.unread} == {"run-9.json", "sheet.html"}
    words = delete_athlete(squad, plan, NOW)
    assert "Could not be looked into, please check: run-9.json" in words


def test_a_squad_with_a_damaged_squad_file_can_still_delete(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", (CODE, "M12"))
    (squad.folder / "squad.json").write_bytes(b"torn")

    delete_athlete(squad, plan_delete(squad, CODE), NOW)

    assert squad.codes() == ("M12",)


def points_to(squad: Squad, code: str, target: Path, is_same: bool = True) -> None:
    """Let the run of an athlete say that its clip is a file, with its very size and contents."""
    at = (code, "2026-03-14", "run-1")
    source = Source("clip", pictures.way_to(target, squad.run_path(*at)), made.SIZE)
    if is_same:
        source = pictures.clip_of(target, squad.run_path(*at), source)
    squad.save_run(*at, replace(squad.load_run(*at), source=source))


VICTIMS = [
    "athletes/M12/2026-03-14/run-1.json",
    "athletes/M12/2026-03-14/visit.json",
    "athletes/M12/athlete.json",
    "athletes/M12/2026-03-14/film.mp4",
    "athletes/M12/2026-03-14/run-1/step-1-touchdown.jpg",
    "squad.json",
    "checks.toml",
    "letter.docx",
]


@pytest.mark.parametrize("victim", VICTIMS)
def test_no_file_of_another_goes_by_a_way_that_a_run_gives_for_its_clip(
    victim: str, tmp_path: Path
) -> None:
    squad = made.squad_of(tmp_path / "squad", (CODE, "M12"))
    pictures.keep_stills(squad, "M12", "2026-03-14", "run-1", {(0, "touchdown", 0): jpeg()}, "")
    for name in ("athletes/M12/2026-03-14/film.mp4", "checks.toml", "letter.docx"):
        (squad.folder / name).write_bytes(b"film")
    points_to(squad, CODE, squad.folder / victim)
    before = made.contents(squad.folder)

    words = delete_athlete(squad, plan_delete(squad, CODE), NOW)

    after = made.contents(squad.folder)
    log = {"squad.json"}  # the day of the deletion is added
    assert {way for way in before if not way.startswith(f"athletes/{CODE}/")} == set(after)
    assert all(after[way] == before[way] for way in set(after) - log)
    assert f"In the squad, still there: {Path(victim).name} (" in words


def test_a_clip_goes_in_whatever_spelling_the_run_has_its_name(tmp_path: Path) -> None:
    """A Mac may have put é down as e and an accent."""
    squad = made.squad_of(tmp_path / "squad", (CODE, "M12"))
    clip = squad.folder / unicodedata.normalize("NFD", "près.mp4")
    clip.write_bytes(b"film")
    points_to(squad, CODE, clip)
    run = squad.load_run(CODE, "2026-03-14", "run-1")
    composed = replace(run.source, path=unicodedata.normalize("NFC", run.source.path))
    squad.save_run(CODE, "2026-03-14", "run-1", replace(run, source=composed))

    delete_athlete(squad, plan_delete(squad, CODE), NOW)

    assert not clip.exists()


def test_a_way_through_a_link_leads_into_nobodys_folder(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", (CODE, "M12"))
    clip = squad.visit_folder("M12", "2026-03-14") / "film.mp4"
    clip.write_bytes(b"film")
    link(squad.folder / "clips", clip.parent)
    points_to(squad, CODE, squad.folder / "clips" / "film.mp4")

    delete_athlete(squad, plan_delete(squad, CODE), NOW)

    assert clip.read_bytes() == b"film"


def test_another_clip_under_the_old_name_stays_and_is_named(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", (CODE, "M12"))
    clip = squad.folder / "film.mp4"
    clip.write_bytes(b"film")
    points_to(squad, CODE, clip)
    clip.write_bytes(b"another film")

    words = delete_athlete(squad, plan_delete(squad, CODE), NOW)

    assert clip.exists()
    assert "film.mp4 (not the clip that was marked: size or contents differ)" in words


@pytest.mark.parametrize("code", ["run", "step", "json", "note", "jpg"])
def test_a_code_that_is_a_word_in_file_names_takes_no_file_of_another(
    code: str, tmp_path: Path
) -> None:
    squad = made.squad_of(tmp_path / "squad", (code, "M12"))
    pictures.keep_stills(squad, "M12", "2026-03-14", "run-1", {(0, "touchdown", 0): jpeg()}, "")
    (squad.visit_folder("M12", "2026-03-14") / "M12-note-2026-05-14.txt").write_bytes(b"hip")
    others = {way for way in made.contents(squad.folder) if "M12" in way}

    delete_athlete(squad, plan_delete(squad, code), NOW)

    assert others <= set(made.contents(squad.folder))
    assert squad.run_names("M12", "2026-03-14") == ("run-1",)


def test_the_receipt_names_all_that_was_not_reached(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", (CODE, "M12"))
    archive.back_up(squad, tmp_path / "b.zip", "2026-05-14")
    shutil.copytree(squad.folder, tmp_path / "squad before 2026-05-01 200000")
    stills = squad.folder / "film" / CODE
    stills.mkdir(parents=True)
    (stills / "1.jpg").write_bytes(b"x")
    points = {"letter.docx": b"x", "plan.txt": f"with {CODE}".encode(), "0419.mp4": b"x"}
    for name, data in points.items():
        (squad.folder / name).write_bytes(data)
    (squad.folder / "shoes.txt").write_bytes(b"for everybody")
    at = (CODE, "2026-03-14", "run-1")
    source = Source("stills", pictures.way_to(stills, squad.run_path(*at)), made.SIZE)
    squad.save_run(*at, replace(squad.load_run(*at), source=source))

    words = delete_athlete(squad, plan_delete(squad, CODE), NOW)

    told = [line for line in words.splitlines() if "still there" in line or "A copy" in line]
    assert [line.split(": ")[1] for line in told] == [
        "0419.mp4 (a picture of nobody knows whom)",
        "1.jpg (a picture that a run or the shot log says shows the athlete)",
        "letter.docx (a document or file of no known kind)",
        "plan.txt (a note that names the athlete)",
        "b.zip",
        "squad before 2026-05-01 200000",
    ]
    assert set(points) <= set(made.contents(squad.folder))


def killed_after(n: int, squad: Squad, monkeypatch: pytest.MonkeyPatch) -> None:
    """Delete, with the program gone at the nth file, or at the very last one."""
    real, calls = files.remove_file, iter(range(1000))

    def stops(path: Path) -> None:
        if next(calls) >= n or path.name == "deleting.json":
            raise KeyboardInterrupt
        real(path)

    with monkeypatch.context() as broken, pytest.raises(KeyboardInterrupt):
        broken.setattr(files, "remove_file", stops)
        broken.setattr(os, "getpid", lambda: 999_999_999)
        delete_athlete(squad, plan_delete(squad, CODE), NOW)


@pytest.mark.parametrize("n", [0, 3, 9, 14, 999])
def test_a_deletion_that_was_killed_is_finished_at_the_next_start(
    n: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    squad = full_squad(tmp_path / "squad")
    killed_after(n, squad, monkeypatch)
    assert any("a deletion has begun" in each.words for each in check_squad(squad))
    again = open_squad(squad.folder)

    words = finish_deletion(again, NOW)

    assert words.startswith(f"Deleting {CODE} had been broken off. It is finished now")
    assert again.codes() == ("M12", "QX71-2")
    assert open_squad(squad.folder).choices.deleted_on == ("2026-05-14",)
    whole = b"".join(w.encode() + d for w, d in made.contents(squad.folder).items())
    assert whole.count(CODE.encode()) == whole.count(b"QX71-2")
    assert finish_deletion(again, NOW) == ""


def test_a_deletion_that_another_program_is_at_is_told_and_left_to_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    squad = full_squad(tmp_path / "squad")
    killed_after(3, squad, monkeypatch)
    path = squad.folder / "deleting.json"
    with subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as other:
        path.write_bytes(path.read_bytes().replace(b"999999999", b"%d" % other.pid))
        before = made.contents(squad.folder)
        told = finish_deletion(squad, NOW)
        other.kill()

    assert f"was begun and has not ended (process {other.pid})" in told
    assert made.contents(squad.folder) == before


@pytest.mark.parametrize(
    "data",
    [b"", b"[]", b"{}", b'{"code": "../x", "process": 1, "deleted_before": 0}', b'{"code": "M12"}'],
)
def test_a_strange_file_of_that_name_deletes_nobody(data: bytes, tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", (CODE, "M12"))
    (squad.folder / "deleting.json").write_bytes(data)

    assert finish_deletion(squad, NOW) == ""
    assert squad.codes() == ("M12", CODE)
