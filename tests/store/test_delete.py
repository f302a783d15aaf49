"""Deleted means deleted."""

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.errors import CannotWrite, HeldByAnother, NotThere
from tapmark.marks.people import Slot
from tapmark.marks.run import Source
from tapmark.store import files, pictures, shots
from tapmark.store.delete import delete_athlete, plan_delete
from tapmark.store.open_run import open_run
from tapmark.store.squad import Squad, open_squad
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
    (squad.athlete_folder(CODE) / "more").symlink_to(outside)

    delete_athlete(squad, plan_delete(squad, CODE), NOW)

    assert (outside / "letter.txt").exists()
    assert squad.codes() == ("M12",)


@settings(max_examples=25)
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


@settings(max_examples=25)
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
