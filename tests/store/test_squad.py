"""The folder of a squad: where things lie, what is kept, what is refused."""

import subprocess
import sys
from dataclasses import fields, replace
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark import disk
from tapmark.errors import (
    AlreadyThere,
    CannotWrite,
    FileDamaged,
    FileTooNew,
    InUse,
    NotThere,
    StoreError,
)
from tapmark.marks.people import CONSENTS, Athlete, Length, Visit
from tapmark.store import files
from tapmark.store.choices import SquadChoices
from tapmark.store.consent import consent_state, give, withdraw
from tapmark.store.delete import delete_athlete, plan_delete
from tapmark.store.lock import alone
from tapmark.store.pictures import keep_stills
from tapmark.store.squad import Squad, make_squad, open_squad
from tests.examples import examples
from tests.links import link
from tests.store import made


def test_a_squad_lies_in_its_folder_as_documented(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",), n_visits=2)

    assert sorted(made.contents(squad.folder)) == [
        "athletes/K07/2026-03-14/run-1.json",
        "athletes/K07/2026-03-14/visit.json",
        "athletes/K07/2026-04-13/run-1.json",
        "athletes/K07/2026-04-13/visit.json",
        "athletes/K07/athlete.json",
        "squad.json",
    ]


def test_what_was_saved_is_found_after_opening_again(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    run = made.standard_run("CD", 3.0)
    name = squad.new_run("K07", made.DAY, run)
    squad.save_visit(replace(squad.visit("K07", made.DAY), notes="dusk"))
    squad.save_choices(replace(squad.choices, paper="letter", neck_base="yes"))

    again = open_squad(tmp_path / "squad")

    assert again.choices == replace(squad.choices, name="Tuesday")
    assert again.athletes() == (made.consenting("K07"), made.consenting("M12"))
    assert again.visit_dates("K07") == ("2026-03-14", made.DAY)
    assert again.visits("K07")[-1] == Visit("K07", made.DAY, ("run-1",), notes="dusk")
    assert again.runs("K07", made.DAY) == ((name, run),)


def test_runs_are_in_the_order_of_their_numbers(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    for _ in range(11):
        squad.new_run("K07", made.DAY, made.standard_run())

    assert squad.run_names("K07", made.DAY) == tuple(f"run-{i}" for i in range(1, 12))
    assert squad.visit("K07", made.DAY).runs == tuple(f"run-{i}" for i in range(1, 12))


def test_the_name_of_a_run_that_is_on_its_way_is_not_given_again(tmp_path: Path) -> None:
    """A folder synced half way: the visit names run-1 and run-2, only run-1 has arrived."""
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    squad.new_run("K07", made.DAY, made.standard_run())
    squad.save_visit(Visit("K07", made.DAY, ("run-1", "run-2")))

    assert squad.new_run("K07", made.DAY, made.standard_run()) == "run-3"


def test_a_folder_with_anything_in_it_is_not_made_a_squad(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("dear", "utf-8")

    with pytest.raises(AlreadyThere, match="holds other files"):
        make_squad(tmp_path, "Tuesday")
    assert list(made.contents(tmp_path)) == ["letter.txt"]


def test_a_squad_is_not_made_twice(tmp_path: Path) -> None:
    made.squad_of(tmp_path / "squad")

    with pytest.raises(AlreadyThere, match="is a squad already"):
        make_squad(tmp_path / "squad", "Thursday")


def test_a_missing_folder_and_one_that_is_no_squad_are_told_apart(tmp_path: Path) -> None:
    with pytest.raises(NotThere, match="There is no folder"):
        open_squad(tmp_path / "gone")
    with pytest.raises(StoreError, match=r"is not a squad: it has no squad\.json"):
        open_squad(tmp_path)


def test_a_squad_from_a_newer_version_is_left_alone(tmp_path: Path) -> None:
    made.squad_of(tmp_path / "squad")
    (tmp_path / "squad" / "squad.json").write_text('{"format": 7}', "utf-8")
    before = made.contents(tmp_path)

    with pytest.raises(FileTooNew, match="format 7"):
        open_squad(tmp_path / "squad")
    assert made.contents(tmp_path) == before


def test_a_damaged_squad_file_keeps_nobody_from_the_runs(tmp_path: Path) -> None:
    made.squad_of(tmp_path / "squad")
    (tmp_path / "squad" / "squad.json").write_text("torn", "utf-8")
    troubles: list[StoreError] = []

    squad = open_squad(tmp_path / "squad", troubles)

    assert squad.codes() == ("K07", "M12")
    assert "A copy is kept as “squad.damaged-" in str(troubles[0])


def test_one_damaged_athlete_hides_no_other(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    (squad.athlete_folder("K07") / "athlete.json").write_text("{}", "utf-8")
    troubles: list[StoreError] = []

    assert [athlete.code for athlete in squad.athletes(troubles)] == ["M12"]
    assert len(troubles) == 1
    with pytest.raises(FileDamaged):
        squad.athletes()


def test_one_damaged_run_hides_no_other_and_is_kept(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    for _ in range(3):
        squad.new_run("K07", made.DAY, made.standard_run())
    path = squad.run_path("K07", made.DAY, "run-2")
    path.write_bytes(path.read_bytes()[:500])
    troubles: list[StoreError] = []

    assert [name for name, _ in squad.runs("K07", made.DAY, troubles)] == ["run-1", "run-3"]
    assert "“K07/2026-05-14/run-2.json” is damaged at line" in str(troubles[0])
    assert len(list(path.parent.glob("run-2.damaged-*.json"))) == 1


def test_an_unknown_athlete_is_told_with_the_codes_there_are(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")

    with pytest.raises(NotThere, match=r"no athlete “X1”. There is K07, M12\."):
        squad.athlete("X1")
    with pytest.raises(NotThere, match=r"no athlete “k07”. There is K07\."):
        squad.athlete("k07")
    with pytest.raises(NotThere, match=r"There is 2026-03-14\."):
        squad.visit("K07", made.DAY)
    with pytest.raises(NotThere, match=r"There is no “run-4\.json”"):
        squad.load_run("K07", "2026-03-14", "run-4")


def test_a_folder_renamed_by_hand_never_gives_one_athlete_the_page_of_another(
    tmp_path: Path,
) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    squad.athlete_folder("K07").rename(squad.athlete_folder("K08"))

    with pytest.raises(FileDamaged, match="in the folder of K08 says it belongs to K07"):
        squad.athlete("K08")
    with pytest.raises(FileDamaged, match="K08 2026-03-14 says it belongs to K07 2026-03-14"):
        squad.visit("K08", "2026-03-14")


def test_a_visit_whose_file_never_arrived_still_has_its_runs(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    (squad.visit_folder("K07", "2026-03-14") / "visit.json").unlink()

    assert squad.visits("K07") == (Visit("K07", "2026-03-14", ("run-1",)),)


def test_a_value_that_could_not_be_read_back_is_not_written(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    before = made.contents(tmp_path)

    with pytest.raises(CannotWrite, match=r"goal_race is “next June”, but should be a date"):
        squad.save_athlete(replace(squad.athlete("K07"), goal_race="next June"))
    assert made.contents(tmp_path) == before


def test_a_run_of_a_deleted_athlete_is_not_brought_back_by_a_late_save(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    run = squad.load_run("K07", "2026-03-14", "run-1")
    squad.athlete_folder("K07").rename(tmp_path / "deleted")

    with pytest.raises(CannotWrite, match="the folder is gone"):
        squad.save_run("K07", "2026-03-14", "run-1", run)


def test_a_file_changed_underneath_is_kept_before_it_is_overwritten(tmp_path: Path) -> None:
    here = made.squad_of(tmp_path / "squad", ("K07",))
    here.load_run("K07", "2026-03-14", "run-1")
    theirs, ours = made.standard_run("CD", 9.0), made.standard_run("AB", 1.0)
    open_squad(tmp_path / "squad").save_run("K07", "2026-03-14", "run-1", theirs)

    kept = here.save_run("K07", "2026-03-14", "run-1", ours)

    assert kept is not None and kept.name.startswith("run-1.elsewhere-")
    assert here.load_run("K07", "2026-03-14", "run-1") == ours
    assert files.json_value(kept.read_bytes(), "x")["marked_by"] == "CD"  # type: ignore[index]
    assert here.run_names("K07", "2026-03-14") == ("run-1",)


def test_saving_what_is_there_already_keeps_no_copy(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    run = squad.load_run("K07", "2026-03-14", "run-1")
    before = made.contents(tmp_path)

    assert open_squad(squad.folder).save_run("K07", "2026-03-14", "run-1", run) is None
    assert squad.save_run("K07", "2026-03-14", "run-1", run) is None
    assert made.contents(tmp_path) == before


def test_nothing_is_overwritten_where_the_other_version_cannot_be_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here = made.squad_of(tmp_path / "squad", ("K07",))
    open_squad(here.folder).save_run("K07", "2026-03-14", "run-1", made.standard_run("CD"))
    before = made.contents(tmp_path)
    monkeypatch.setattr(files, "keep_copy", lambda *_: None)

    with pytest.raises(CannotWrite, match="cannot be kept"):
        here.save_run("K07", "2026-03-14", "run-1", made.standard_run("EF"))
    assert made.contents(tmp_path) == before


def test_nothing_is_written_through_a_link_out_of_the_squad(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    outside = tmp_path / "outside"
    squad.athlete_folder("K07").rename(outside)
    link(squad.athlete_folder("K07"), outside)
    before = made.contents(outside)

    assert squad.codes() == ()
    with pytest.raises(CannotWrite, match="outside the squad, through a link"):
        squad.save_run("K07", "2026-03-14", "run-1", made.standard_run("EF"))
    assert made.contents(outside) == before


@pytest.mark.parametrize("code", ["../K07", "K07/..", "C:", "", "nul"])
def test_a_code_never_leads_out_of_the_squad(code: str, tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    before = made.contents(tmp_path)

    for ask in (
        lambda: squad.save_athlete(Athlete(code)),
        lambda: squad.athlete(code),
        lambda: squad.new_visit(code, made.DAY),
        lambda: squad.run_path("K07", code, "run-1"),
        lambda: squad.run_path("K07", made.DAY, code),
    ):
        with pytest.raises(StoreError):
            ask()
    assert made.contents(tmp_path) == before


def test_a_new_visit_on_the_same_day_is_the_same_visit(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    squad.save_visit(replace(squad.new_visit("K07", made.DAY), notes="dusk"))

    assert squad.new_visit("K07", made.DAY).notes == "dusk"


def test_a_read_only_squad_opens_and_says_why_it_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))

    def refuse(*_: object) -> None:
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr("os.open", refuse)
    assert squad.load_run("K07", "2026-03-14", "run-1") == made.standard_run()
    with pytest.raises(CannotWrite, match="the disk can only be read"):
        squad.save_run("K07", "2026-03-14", "run-1", made.standard_run("EF"))


@settings(max_examples=examples(20))
@given(st.lists(made.athletes, max_size=4, unique_by=lambda a: a.code.lower()), made.visits)
def test_any_athletes_and_visits_survive_the_disk(
    tmp_path_factory: pytest.TempPathFactory, athletes: list[Athlete], visit: Visit
) -> None:
    squad: Squad = make_squad(tmp_path_factory.mktemp("squad"), "Tuesday")
    for athlete in athletes:
        squad.save_athlete(athlete)
        squad.new_visit(athlete.code, visit.dated)
        squad.save_visit(replace(visit, code=athlete.code))

    again = open_squad(squad.folder)

    assert again.athletes() == tuple(sorted(athletes, key=lambda a: a.code))
    for athlete in athletes:
        assert again.visits(athlete.code) == (replace(visit, code=athlete.code),)


def test_what_another_program_wrote_of_an_athlete_stays_when_something_else_is_changed(
    tmp_path: Path,
) -> None:
    here = made.squad_of(tmp_path / "squad", ("K07",))
    old = here.athlete("K07")
    there = open_squad(here.folder)
    there.save_athlete(replace(there.athlete("K07"), clearance="under treatment", notes="left"))

    here.athletes()  # read again meanwhile, as the list does
    kept = here.save_athlete(replace(old, is_archived=True), old)

    assert here.athlete("K07") == replace(
        old, is_archived=True, clearance="under treatment", notes="left"
    )
    assert kept is None and len(list(here.athlete_folder("K07").iterdir())) == 2


def test_what_both_changed_is_ours_and_their_version_is_kept(tmp_path: Path) -> None:
    here = made.squad_of(tmp_path / "squad", ("K07",))
    old = here.athlete("K07")
    there = open_squad(here.folder)
    there.save_athlete(replace(there.athlete("K07"), notes="theirs", own_cue="push"))

    kept = here.save_athlete(replace(old, notes="ours"))

    assert here.athlete("K07") == replace(old, notes="ours", own_cue="push")
    assert kept is not None and '"theirs"' in kept.read_text("utf-8")


@pytest.mark.parametrize("use", CONSENTS)
@pytest.mark.parametrize("change", ["archive", "renew", "length"])
def test_a_consent_withdrawn_by_another_program_is_not_given_back_by_a_stale_value(
    use: str, change: str, tmp_path: Path
) -> None:
    here = made.squad_of(tmp_path / "squad", ("K07",))
    old = here.athlete("K07")
    there = open_squad(here.folder)
    there.save_athlete(withdraw(there.athlete("K07"), use, "parent", "2026-05-14"))

    ours = {
        "archive": replace(old, is_archived=True),
        "renew": give(old, use, "parent", "2026-05-14", "2027-05-14"),
        "length": replace(old, lengths=(*old.lengths, Length("height", 171.0, made.DAY))),
    }[change]
    here.athletes()
    here.save_athlete(ours, old)

    now = open_squad(here.folder).athlete("K07")
    assert consent_state(now, use, "2026-05-15") == "withdrawn"
    assert set(ours.consents) < set(now.consents)
    others = {each for each in CONSENTS if each != use}
    assert {consent_state(now, each, "2026-05-15") for each in others} == {"given"}


def test_a_no_here_beats_a_yes_that_another_program_got_meanwhile(tmp_path: Path) -> None:
    here = made.squad_of(tmp_path / "squad", ("K07",))
    old = here.athlete("K07")
    there = open_squad(here.folder)
    there.save_athlete(give(there.athlete("K07"), "film", "parent", "2026-05-14"))

    here.save_athlete(withdraw(old, "film", "parent", "2026-05-14"))

    assert consent_state(here.athlete("K07"), "film", "2026-05-14") == "withdrawn"


def test_a_yes_signed_after_the_no_was_read_counts(tmp_path: Path) -> None:
    here = made.squad_of(tmp_path / "squad", ("K07",))
    there = open_squad(here.folder)
    there.save_athlete(withdraw(there.athlete("K07"), "film", "parent", "2026-05-14"))

    here.save_athlete(give(here.athlete("K07"), "film", "parent", "2026-05-15"))

    assert consent_state(here.athlete("K07"), "film", "2026-05-15") == "given"


def test_an_athlete_deleted_by_another_program_is_not_brought_back(tmp_path: Path) -> None:
    here = made.squad_of(tmp_path / "squad")
    old = here.athlete("K07")
    there = open_squad(here.folder)
    delete_athlete(there, plan_delete(there, "K07"), datetime(2026, 5, 14, 20, 30))
    before = made.contents(here.folder)

    with pytest.raises(NotThere, match="no longer in the squad: another program has deleted"):
        here.save_athlete(replace(old, is_archived=True), old)
    with pytest.raises(NotThere, match="no longer in the squad"):
        here.save_athlete(old)

    assert made.contents(here.folder) == before


def test_a_new_athlete_never_takes_the_place_of_one_who_came_meanwhile(tmp_path: Path) -> None:
    here = made.squad_of(tmp_path / "squad", ("K07",))
    open_squad(here.folder).add_athlete(Athlete("M12", notes="theirs"))

    with pytest.raises(AlreadyThere, match="M12"):
        here.add_athlete(Athlete("M12", notes="ours"))
    assert here.athlete("M12").notes == "theirs"


def test_a_code_can_be_used_again_after_its_athlete_was_deleted_here(tmp_path: Path) -> None:
    here = made.squad_of(tmp_path / "squad")
    delete_athlete(here, plan_delete(here, "K07"), datetime(2026, 5, 14, 20, 30))

    here.add_athlete(Athlete("K07"))
    here.save_athlete(replace(here.athlete("K07"), notes="new"))

    assert here.athlete("K07") == Athlete("K07", notes="new")


@settings(max_examples=examples(20))
@given(made.choices, made.choices, made.choices)
def test_choices_start_from_what_is_on_the_disk_and_no_deletion_is_forgotten(
    tmp_path_factory: pytest.TempPathFactory,
    was: SquadChoices,
    ours: SquadChoices,
    theirs: SquadChoices,
) -> None:
    """Each key: ours where we changed it, theirs where only they did; both deletions are told."""
    here = make_squad(tmp_path_factory.mktemp("squad"), "Tuesday")
    here.save_choices(replace(was, deleted_on=("2026-01-01",)))
    there = open_squad(here.folder)
    there.save_choices(replace(theirs, deleted_on=("2026-01-01", "2026-02-02")))
    began = here.choices

    here.save_choices(replace(ours, deleted_on=("2026-01-01", "2026-03-03")))

    now = open_squad(here.folder).choices
    for field in fields(SquadChoices):
        mine, before = getattr(ours, field.name), getattr(began, field.name)
        wanted = getattr(theirs, field.name) if mine == before else mine
        if field.name == "deleted_on":
            wanted = ("2026-01-01", "2026-02-02", "2026-03-03")
        assert getattr(now, field.name) == wanted, field.name
    assert here.choices == now


def test_choices_of_a_newer_version_are_left_alone(tmp_path: Path) -> None:
    here = made.squad_of(tmp_path / "squad", ("K07",))
    (here.folder / "squad.json").write_text('{"format": 7}', "utf-8")

    with pytest.raises(FileTooNew):
        here.save_choices(replace(here.choices, paper="letter"))
    assert (here.folder / "squad.json").read_text("utf-8") == '{"format": 7}'


@pytest.mark.parametrize("how", ["renamed", "unplugged"])
def test_a_squad_whose_folder_is_gone_says_so_and_never_that_there_is_nobody(
    how: str, tmp_path: Path
) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    old = squad.athlete("K07")
    squad.folder.rename(tmp_path / "elsewhere")
    if how == "unplugged":  # the empty folder that a disk was seen in
        squad.folder.mkdir()

    for ask in (
        lambda: squad.athlete("K07"),
        lambda: squad.visit("K07", "2026-03-14"),
        lambda: squad.new_visit("K07", made.DAY),
        lambda: squad.save_athlete(old),
        lambda: squad.add_athlete(Athlete("Z9")),
        squad.refuse_gone,
    ):
        with pytest.raises(NotThere, match=r"is gone\. Plug the disk in again"):
            ask()
    assert list(tmp_path.glob("squad/*")) == [], "nothing is begun anew in its place"


def test_a_still_that_comes_late_brings_no_deleted_athlete_back(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    delete_athlete(squad, plan_delete(squad, "K07"), datetime(2026, 5, 14, 20, 30))

    with pytest.raises(NotThere, match="no still of it is kept"):
        keep_stills(squad, "K07", "2026-03-14", "run-1", {}, "2026-05-14")
    assert not squad.athlete_folder("K07").exists()


ADD_ANSWERS = """
import sys
from dataclasses import replace
from pathlib import Path
from tapmark.marks.people import Consent
from tapmark.store.squad import open_squad
squad, me = open_squad(Path(sys.argv[1])), sys.argv[2]
print("ready", flush=True)
sys.stdin.readline()
for n in range(20):
    athlete = squad.athlete("K07")
    more = Consent("film", True, f"{me} {n}", "2026-01-10")
    squad.save_athlete(replace(athlete, consents=(*athlete.consents, more)))
    squad.reload_choices()
    days = (*squad.choices.deleted_on, f"20{me}0-01-{n + 1:02d}")
    squad.save_choices(replace(squad.choices, deleted_on=days), squad.choices)
"""


def test_of_programs_that_write_one_athlete_at_once_none_loses_what_another_wrote(
    tmp_path: Path,
) -> None:
    """Real programs in the same milliseconds: answers are only ever added, deletions too."""
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    start = [sys.executable, "-c", ADD_ANSWERS, str(squad.folder)]
    root, pipe = Path(__file__).parents[2], subprocess.PIPE
    programs = [
        subprocess.Popen([*start, str(me)], stdin=pipe, stdout=pipe, encoding="utf-8", cwd=root)
        for me in (1, 2, 3)
    ]
    for each in programs:
        assert each.stdout is not None and each.stdout.readline() == "ready\n"
    for each in programs:
        assert each.stdin is not None
        each.stdin.write("go\n")
        each.stdin.flush()
    ended = [each.communicate() and each.returncode for each in programs]

    assert ended == [0, 0, 0]
    asked = {consent.by for consent in open_squad(squad.folder).athlete("K07").consents}
    assert asked >= {f"{me} {n}" for me in (1, 2, 3) for n in range(20)}
    assert len(open_squad(squad.folder).choices.deleted_on) == 60
    assert not list(squad.folder.rglob("*elsewhere*")) and not list(squad.folder.rglob("*.lock"))


def test_a_file_that_another_tapmark_does_not_let_go_of_is_not_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    before = made.contents(squad.folder)
    monkeypatch.setattr(disk.time, "sleep", lambda _: None)

    with alone(squad.athlete_folder("K07") / "athlete.json"), pytest.raises(InUse, match="another"):
        squad.save_athlete(replace(squad.athlete("K07"), notes="new"))

    assert made.contents(squad.folder) == before
