"""A squad looked through: what a half finished copy, a crash or a sync program leaves."""

from dataclasses import replace
from pathlib import Path

import pytest

from tapmark.marks.run import Source
from tapmark.store import consent
from tapmark.store.check import check_squad
from tapmark.store.squad import Squad
from tests.links import link
from tests.store import made

WHERE = ("K07", "2026-03-14", "run-1")


@pytest.fixture
def squad(tmp_path: Path) -> Squad:
    squad = made.squad_of(tmp_path / "squad")
    for code in squad.codes():
        run = squad.load_run(code, *WHERE[1:])
        squad.save_run(code, *WHERE[1:], replace(run, source=Source(size_px=made.SIZE)))
    return squad


def words(squad: Squad) -> list[str]:
    return [finding.words for finding in check_squad(squad)]


def test_a_whole_squad_has_no_findings(squad: Squad) -> None:
    assert words(squad) == []


def test_a_run_that_has_not_arrived_is_named(squad: Squad) -> None:
    squad.run_path(*WHERE).unlink()

    assert words(squad) == ["K07 on 14 March 2026 counts run 1, but its file is not there."]


def test_a_visit_and_an_athlete_that_have_not_arrived_are_named(squad: Squad) -> None:
    (squad.visit_folder(*WHERE[:2]) / "visit.json").unlink()
    (squad.athlete_folder("M12") / "athlete.json").unlink()

    assert words(squad) == [
        "K07 on 14 March 2026 has no visit.json: it has not arrived yet.",
        "“M12” has no athlete.json: it has not arrived yet.",
    ]


@pytest.mark.parametrize(
    "name",
    [
        "run-1 (conflicted copy 2026-05-14).json",
        "run-1.sync-conflict-20260514-203015.json",
        "run-1 (1).json",
        "run-1 2.json",
        "visit-laptop.json",
        "run-1_copy.json",
    ],
)
def test_second_copies_of_sync_programs_are_told_and_never_taken_for_runs(
    name: str, squad: Squad
) -> None:
    path = squad.visit_folder(*WHERE[:2]) / name
    path.write_bytes(squad.run_path(*WHERE).read_bytes())

    (found,) = check_squad(squad)

    assert found.path == path
    assert "second copy that a program made which copies folders" in found.words
    assert squad.run_names(*WHERE[:2]) == ("run-1",)


def test_damage_is_told_with_its_place_and_the_copy_beside_it(squad: Squad) -> None:
    squad.run_path(*WHERE).write_bytes(b"torn")

    told = words(squad)
    assert len(told) == 1 and "“K07/2026-03-14/run-1.json” is damaged at line 1" in told[0]
    told = words(squad)
    assert len(told) == 2 and "was set aside: compare it, then delete it." in told[0]


def test_damaged_athletes_and_visits_are_told(squad: Squad) -> None:
    (squad.athlete_folder("K07") / "athlete.json").write_text('{"format": 9}', "utf-8")
    (squad.visit_folder(*WHERE[:2]) / "visit.json").write_text('{"format": 8}', "utf-8")

    assert [text.split(" (")[0] for text in words(squad)] == [
        "“K07/2026-03-14/visit.json” was saved by a newer Tapmark",
        "“K07/athlete.json” was saved by a newer Tapmark",
    ]


def test_locks_and_lost_clips_are_told_last(squad: Squad, tmp_path: Path) -> None:
    run = squad.load_run(*WHERE)
    squad.save_run(*WHERE, replace(run, source=Source("clip", "gone.mp4", made.SIZE)))
    (squad.visit_folder(*WHERE[:2]) / "run-1.json.lock").write_bytes(b"")
    link(squad.athlete_folder("P03"), tmp_path)

    found = check_squad(squad)

    assert [each.is_serious for each in found] == [True, False, False]
    assert found[0].words == "“P03” is a link and is left out."
    assert {each.words.split(":")[0] for each in found[1:]} == {
        "run 1 of K07 on 14 March 2026",
        "“run-1.json.lock” is held or left over; it goes when the run is opened.",
    }


def test_another_clip_under_the_name_of_ours_is_told(squad: Squad) -> None:
    path = squad.visit_folder(*WHERE[:2]) / "a.mp4"
    path.write_bytes(b"other")
    run = squad.load_run(*WHERE)
    source = Source("clip", "a.mp4", made.SIZE, size_bytes=5, fingerprint="00")
    squad.save_run(*WHERE, replace(run, source=source))

    assert words(squad) == ["run 1 of K07 on 14 March 2026: another clip lies under its name."]


def test_pictures_that_no_back_up_may_hold_are_named_wherever_they_lie(squad: Squad) -> None:
    """The same list that the back-up reads; with every consent nothing is said."""
    for way in ("clips/0412.MKV", "athletes/K07/2026-03-14/0413.heic", "K07 start.webm"):
        (squad.folder / way).parent.mkdir(exist_ok=True)
        (squad.folder / way).write_bytes(b"film")
    assert [each.words for each in check_squad(squad, made.DAY)] == [
        "“0412.MKV” is a picture of nobody knows whom: nobody knows who is in it. Ask, or delete "
        "it."
    ]

    squad.save_athlete(consent.withdraw(squad.athlete("K07"), "film", "parent", "2026-05-01"))

    told = [each.words for each in check_squad(squad, made.DAY) if each.is_serious]
    assert told == [
        f"“{name}” is a picture of K07: no consent to give it out. Ask, or delete it."
        for name in ("K07 start.webm", "0413.heic")
    ]
