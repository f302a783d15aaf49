"""Two copies put together: nothing averaged, nothing dropped, every difference told."""

import shutil
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark import disk
from tapmark.errors import CannotWrite, StoreError
from tapmark.marks.people import Visit
from tapmark.marks.run import Run
from tapmark.store import consent, files, pictures
from tapmark.store import merge as merging
from tapmark.store.merge import finish_merge, merge, plan_merge
from tapmark.store.squad import Squad, open_squad
from tests.examples import examples
from tests.store import made
from tests.store.test_jpeg import jpeg

TODAY = "2026-05-14"
WHERE = ("K07", "2026-03-14", "run-1")


def two_copies(folder: Path) -> tuple[Squad, Squad]:
    ours = made.squad_of(folder / "ours", ("K07", "M12"))
    shutil.copytree(ours.folder, folder / "theirs")
    return ours, open_squad(folder / "theirs")


def all_runs(squad: Squad) -> Counter[tuple[str, str, str]]:
    return Counter(
        (code, dated, repr(run))
        for code in squad.codes()
        for dated in squad.visit_dates(code)
        for _, run in squad.runs(code, dated)
    )


def test_a_copy_merged_into_itself_changes_nothing(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    before = made.contents(ours.folder)

    assert merge(ours, theirs, TODAY) == ()
    assert merge(ours, open_squad(ours.folder), TODAY) == ()
    assert made.contents(ours.folder) == before


def test_what_only_they_have_is_taken(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    theirs.save_athlete(made.consenting("P03"))
    theirs.new_run("P03", TODAY, made.standard_run("CD"))
    theirs.new_run(*WHERE[:2], made.standard_run("CD", 5.0))
    theirs.save_visit(replace(theirs.new_visit("M12", TODAY), notes="dusk"))

    told = merge(ours, theirs, TODAY)

    assert [each.kind for each in told] == ["new"] * 5
    assert ours.athlete("P03") == made.consenting("P03")
    assert ours.load_run("P03", TODAY, "run-1") == made.standard_run("CD")
    assert ours.load_run(*WHERE[:2], "run-2") == made.standard_run("CD", 5.0)
    assert ours.visit(*WHERE[:2]).runs == ("run-1", "run-2")
    assert ours.visit("M12", TODAY).notes == "dusk"


def test_one_run_marked_differently_in_both_is_kept_twice_and_counted_once(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    ours.save_run(*WHERE, made.standard_run("AB", 1.0))
    theirs.load_run(*WHERE)
    theirs.save_run(*WHERE, made.standard_run("CD", 9.0))

    (told,) = merge(ours, theirs, TODAY)

    assert told.kind == "conflict"
    assert told.words == (
        "K07 on 14 March 2026: run 1 differs: here 32 taps by AB, there 32 taps by CD. Both are "
        "kept; theirs is not counted until you choose."
    )
    assert ours.load_run(*WHERE) == made.standard_run("AB", 1.0)
    assert ours.load_run(*WHERE[:2], "run-2") == made.standard_run("CD", 9.0)
    assert ours.visit(*WHERE[:2]).runs == ("run-1",)


def test_merging_again_brings_nothing_twice(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    theirs.load_run(*WHERE)
    theirs.save_run(*WHERE, made.standard_run("CD", 9.0))
    theirs.new_run(*WHERE[:2], made.standard_run("CD", 5.0))
    merge(ours, theirs, TODAY)
    before = made.contents(ours.folder)

    assert merge(ours, theirs, TODAY) == ()
    assert made.contents(ours.folder) == before


def test_the_plan_says_what_merging_does_and_writes_nothing(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    theirs.load_run(*WHERE)
    theirs.save_run(*WHERE, made.standard_run("CD", 9.0))
    theirs.save_athlete(replace(theirs.athlete("M12"), notes="left-handed"))
    theirs.save_athlete(made.consenting("P03"))
    theirs.new_run("P03", TODAY, made.standard_run("CD"))
    before = made.contents(tmp_path)

    plan = plan_merge(ours, theirs, TODAY)

    assert made.contents(tmp_path) == before
    assert merge(ours, theirs, TODAY) == plan
    assert len(plan) == 5


def test_other_words_of_a_visit_or_an_athlete_are_set_aside(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    ours.save_visit(replace(ours.visit(*WHERE[:2]), notes="ours", reason="because"))
    theirs.save_visit(replace(theirs.visit(*WHERE[:2]), notes="theirs"))
    theirs.save_athlete(replace(theirs.athlete("K07"), notes="left-handed", group="800 m"))

    told = merge(ours, theirs, TODAY)

    assert [each.words for each in told] == [
        "K07: the copies differ in group, notes.",
        "K07 on 14 March 2026: the copies differ in notes, reason.",
    ]
    assert ours.visit(*WHERE[:2]).notes == "ours"
    (visit,) = ours.visit_folder(*WHERE[:2]).glob("visit.elsewhere-*.json")
    (athlete,) = ours.athlete_folder("K07").glob("athlete.elsewhere-*.json")
    assert "theirs" in visit.read_text("utf-8")
    assert "left-handed" in athlete.read_text("utf-8")


def test_their_no_to_pictures_wins_over_our_yes(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    theirs.save_athlete(consent.withdraw(theirs.athlete("K07"), "print photo", "parent", TODAY))

    told = merge(ours, theirs, TODAY)

    assert told[-1].words == "K07: their no to “photo on the sheet” now counts here too."
    assert not consent.is_allowed(consent.may_show_photo, ours.athlete("K07"), TODAY)
    consent.may_import(ours.athlete("K07"), TODAY)


def test_our_no_stays_whatever_they_say(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    ours.save_athlete(consent.withdraw(ours.athlete("K07"), "film", "parent", TODAY))

    merge(ours, theirs, TODAY)

    assert not consent.is_allowed(consent.may_import, ours.athlete("K07"), TODAY)


def test_who_was_deleted_here_can_be_left_out(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    shutil.rmtree(ours.athlete_folder("M12"))

    assert [each.code for each in plan_merge(ours, theirs, TODAY)] == ["M12"] * 3
    assert merge(ours, theirs, TODAY, leave=frozenset({"M12"})) == ()
    assert ours.codes() == ("K07",)


def test_stills_come_with_their_runs(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    name = theirs.new_run(*WHERE[:2], made.standard_run("CD", 5.0))
    for run_name in ("run-1", name):
        still = {(0, "touchdown", 0): jpeg()}
        pictures.keep_stills(theirs, *WHERE[:2], run_name, still, TODAY)

    merge(ours, theirs, TODAY)

    for run_name in ("run-1", "run-2"):
        assert len(pictures.kept_stills(ours.stills_folder(*WHERE[:2], run_name))) == 1
    assert pictures.kept_since(ours.stills_folder(*WHERE)) == TODAY


def test_a_damaged_file_of_theirs_hides_no_other(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    theirs.new_run(*WHERE[:2], made.standard_run("CD", 5.0))
    theirs.run_path(*WHERE).write_bytes(b"torn")
    troubles: list[StoreError] = []

    merge(ours, theirs, TODAY, troubles=troubles)

    assert len(troubles) == 1
    assert ours.run_names(*WHERE[:2]) == ("run-1", "run-2")
    assert ours.load_run(*WHERE) == made.standard_run()


@settings(max_examples=examples(8))
@given(st.lists(made.runs(), max_size=3), st.lists(made.runs(), max_size=3))
def test_merging_keeps_every_tap_of_both(
    tmp_path_factory: pytest.TempPathFactory, our_runs: list[Run], their_runs: list[Run]
) -> None:
    ours, theirs = two_copies(tmp_path_factory.mktemp("m"))
    for squad, runs in ((ours, our_runs), (theirs, their_runs)):
        for run in runs:
            squad.new_run(*WHERE[:2], run)
    wanted = all_runs(ours) | all_runs(theirs)

    merge(ours, theirs, TODAY)

    assert set(all_runs(ours)) == set(wanted)
    assert merge(ours, theirs, TODAY) == ()


@settings(max_examples=examples(10))
@given(st.lists(made.runs(), max_size=3), made.visits)
def test_any_copy_merged_into_itself_changes_nothing(
    tmp_path_factory: pytest.TempPathFactory, runs: list[Run], visit: Visit
) -> None:
    squad = made.squad_of(tmp_path_factory.mktemp("m") / "squad", ("K07",))
    for run in runs:
        squad.new_run("K07", TODAY, run)
    squad.new_visit("K07", visit.dated)
    squad.save_visit(replace(visit, code="K07"))
    before = made.contents(squad.folder)

    assert merge(squad, open_squad(squad.folder), TODAY) == ()
    assert made.contents(squad.folder) == before


AT = ("K07", "2026-03-14", "run-1")
EXIF = b"\xff\xe1\x00\x08Exif\0\0"


def with_stills(squad: Squad, data: bytes, name: str = "step-1-touchdown.jpg") -> Path:
    folder = squad.stills_folder(*AT)
    folder.mkdir(exist_ok=True)
    (folder / name).write_bytes(data)
    return folder


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("virus.exe", b"MZ"),
        ("step-1-touchdown.jpg", b"MZ no picture"),
        ("step-1-touchdown.jpg", b"\xff\xd8\xff\xe0 cut off"),
        ("0412.mp4", b"film"),
        ("IMG_1.heic", b"x"),
        ("since.txt", b"2020-01-01"),
    ],
)
def test_nothing_but_whole_stills_is_taken_from_their_folder(
    name: str, data: bytes, tmp_path: Path
) -> None:
    ours, theirs = two_copies(tmp_path)
    with_stills(theirs, data, name)
    before = made.contents(ours.folder)

    merge(ours, theirs, TODAY, troubles=[])

    assert made.contents(ours.folder) == before


def test_their_stills_come_without_what_a_phone_wrote_beside_them(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    picture = jpeg()
    with_stills(theirs, picture[:2] + EXIF + picture[2:])

    merge(ours, theirs, TODAY)

    (path,) = pictures.kept_stills(ours.stills_folder(*AT)).values()
    assert b"Exif" not in path.read_bytes()


@pytest.mark.parametrize("use", ["film", "keep stills"])
@pytest.mark.parametrize("whose", ["ours", "theirs"])
def test_stills_are_not_taken_where_one_side_took_the_consent_back(
    use: str, whose: str, tmp_path: Path
) -> None:
    ours, theirs = two_copies(tmp_path)
    with_stills(theirs, jpeg())
    squad = ours if whose == "ours" else theirs
    squad.save_athlete(consent.withdraw(squad.athlete("K07"), use, "parent", "2026-05-01"))

    told = merge(ours, theirs, TODAY)

    assert not ours.stills_folder(*AT).exists()
    (left,) = [each for each in told if each.kind == "left"]
    assert left.words.startswith("K07 on 14 March 2026: their stills of run 1 are not taken: the ")


def test_a_merge_that_fails_leaves_everything_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ours, theirs = two_copies(tmp_path)
    with_stills(theirs, jpeg())
    theirs.new_run(*AT[:2], made.standard_run("CD", 5.0))
    before, real, uses = made.contents(ours.folder), files.write_bytes, iter(range(100))

    def full(path: Path, data: bytes, *more: float) -> None:
        if next(uses) == 2:
            raise CannotWrite("the disk is full")
        real(path, data, *more)

    with monkeypatch.context() as broken, pytest.raises(CannotWrite):
        broken.setattr(files, "write_bytes", full)
        merge(ours, theirs, TODAY)

    assert made.contents(ours.folder) == before


@pytest.mark.parametrize("n", [0, 1, 2, 3])
def test_a_merge_that_was_killed_on_its_way_is_finished_at_the_next_start(
    n: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ours, theirs = two_copies(tmp_path)
    with_stills(theirs, jpeg())
    theirs.new_run(*AT[:2], made.standard_run("CD", 5.0))
    shutil.copytree(ours.folder, tmp_path / "whole")
    whole = open_squad(tmp_path / "whole")
    merge(whole, theirs, TODAY)
    real, uses = disk.move_into_place, iter(range(100))

    def killed(part: Path, path: Path, *more: float) -> None:
        if "merging" in part.parts and next(uses) >= n:
            raise KeyboardInterrupt
        real(part, path, *more)

    with monkeypatch.context() as broken, pytest.raises(KeyboardInterrupt):
        broken.setattr(disk, "move_into_place", killed)
        merge(ours, theirs, TODAY)

    assert finish_merge(ours).endswith("It is finished now.")
    assert made.contents(ours.folder) == made.contents(whole.folder)
    assert finish_merge(ours) == ""
    assert merge(open_squad(ours.folder), theirs, TODAY) == ()


def test_what_another_program_changed_meanwhile_is_never_merged_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ours, theirs = two_copies(tmp_path)
    theirs.new_run(*AT[:2], made.standard_run("CD", 5.0))
    path, real = ours.visit_folder(*AT[:2]) / "visit.json", merging.keep_what_is_new

    def changed(squad: Squad, stage: Path, before: dict[Path, bytes]) -> None:
        path.write_bytes(path.read_bytes() + b"\n")
        real(squad, stage, before)

    monkeypatch.setattr(merging, "keep_what_is_new", changed)
    with pytest.raises(CannotWrite, match="was changed by another program meanwhile"):
        merge(ours, theirs, TODAY)

    assert ours.run_names(*AT[:2]) == ("run-1",)
    assert not any("merging" in name.name for name in ours.folder.iterdir())
