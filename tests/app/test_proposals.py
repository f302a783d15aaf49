"""Imports, copies, goodbyes and the yearly round, without a screen: shown first, done after."""

import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from tapmark.app.shell.context import Context
from tapmark.app.shell.proposals import choose
from tapmark.app.shell.squads import choose_athlete, use_squad
from tapmark.app.squad.copies import findings
from tapmark.app.state.proposal import Line, next_choice
from tapmark.clip.cache import Cache
from tapmark.services.copies import THEIRS
from tapmark.store.check import check_squad
from tapmark.store.consent import withdraw
from tapmark.store.squad import Squad, open_squad
from tests.app.made import bare_context
from tests.store.made import consenting, contents, squad_of, standard_run

DAY = "2026-03-14"
EVENING = datetime(2026, 5, 14, 20, 58, 31)


@pytest.fixture
def squad(tmp_path: Path) -> Squad:
    return squad_of(tmp_path / "Tuesday")


@pytest.fixture
def context(tmp_path: Path, squad: Squad) -> Context:
    made = bare_context(tmp_path / "home", lambda: EVENING)
    use_squad(made, squad.folder)
    choose_athlete(made, "K07")
    return made


def ready(context: Context, *answers: object) -> None:
    context.ask.ready.extend(answers)  # type: ignore[attr-defined]


def proposed(context: Context) -> list[tuple[str, ...]]:
    assert context.state.page == "proposal" and context.state.around.proposal.proposal
    return [line.cells for line in context.state.around.proposal.proposal.lines]


def test_space_goes_round_the_choices_of_a_line() -> None:
    line = Line("a", ("x",), choices=("one", "two", "three"))

    assert [next_choice(line, now) for now in line.choices] == ["two", "three", "one"]


def test_nothing_to_do_is_said_and_not_done(context: Context) -> None:
    context.state.page = "proposal"
    context.perform("do it")

    assert context.state.status == "There is nothing to do here. Escape goes back."


# a list of athletes

LIST = "code;year of birth;event group;vest\nK31;2009;800;M\nNonesuch;2010;100;\nk07;2009;400;\n"


def test_a_list_is_shown_with_the_line_of_each_problem_and_nothing_is_added(
    context: Context, squad: Squad, tmp_path: Path
) -> None:
    path = tmp_path / "list.csv"
    path.write_text(LIST, "utf-8")
    before = contents(squad.folder)
    ready(context, path)

    context.perform("import list")

    assert [cells[0] for cells in proposed(context)] == [
        "line 3: left out",
        "line 4: left out",
        "added",
    ]
    about = " ".join(context.state.around.proposal.proposal.about)  # type: ignore[union-attr]
    assert "1 athlete can be added, 2 lines cannot" in about and "“vest”" in about
    assert before == contents(squad.folder)
    context.perform("leave")
    assert before == contents(squad.folder) and context.state.page == "squad"


def test_a_list_brings_athletes_in_without_any_consent(
    context: Context, squad: Squad, tmp_path: Path
) -> None:
    path = tmp_path / "list.csv"
    path.write_text(LIST, "utf-8")
    ready(context, path)
    context.perform("import list")

    context.perform("do it")

    assert squad.codes() == ("K07", "K31", "M12")
    assert squad.athlete("K31").consents == ()
    rows = context.state.around.squad.rows
    assert [row.code for row in rows if row.thing == "consent missing"] == ["K31"]


@pytest.mark.parametrize(
    ("data", "why"), [(b"name;year\nA;2009\n", "code"), (b"\xff\xfe\x00\x00", "no text")]
)
def test_a_file_that_is_no_list_is_told_and_leads_nowhere(
    context: Context, tmp_path: Path, data: bytes, why: str
) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes(data)
    ready(context, path)

    context.perform("import list")

    assert why in context.state.error and context.state.page == "squad"


# deleting


def test_deleting_shows_every_file_first_and_asks_for_the_code(
    context: Context, squad: Squad
) -> None:
    before = contents(squad.folder)
    context.perform("delete athlete")

    shown = {way for _, way in proposed(context)}
    assert {way for way in before if way.startswith("athletes/K07/")} <= shown
    context.perform("do it")
    assert "Type K07" in context.state.status
    context.state.around.proposal.typed = "K0"
    context.perform("do it")
    assert before == contents(squad.folder)


def test_after_deleting_no_byte_of_the_code_is_left_and_the_receipt_says_so(
    context: Context, squad: Squad, tmp_path: Path
) -> None:
    other = squad.visit("M12", DAY)
    squad.save_visit(replace(other, notes="ran with K07"))
    context.perform("delete athlete")
    context.state.around.proposal.typed = "K07"

    context.perform("do it")

    assert not [
        way for way, data in contents(squad.folder).items() if b"K07" in data or "K07" in way
    ]
    assert squad.visit("M12", DAY).notes == "ran with (deleted)"
    assert context.state.athlete is None and not context.state.history
    receipt = context.state.around.proposal.proposal
    assert receipt and "14 May 2026" in receipt.about[0] and receipt.action is None
    ready(context, tmp_path / "receipt.txt")
    receipt.more[0][1](context)
    assert "everything of athlete K07" in (tmp_path / "receipt.txt").read_text("utf-8")


def test_pictures_prepared_from_clips_go_too(context: Context, tmp_path: Path) -> None:
    clip = tmp_path / "clip.mp4"
    clip.write_bytes(b"not read here")
    Cache(context.cache_folder).start(clip, "test").close()
    context.perform("delete athlete")
    context.state.around.proposal.typed = "K07"

    context.perform("do it")

    assert list(context.cache_folder.glob("*.pictures")) == []


# copies


def test_a_back_up_is_written_read_back_and_dated(
    context: Context, squad: Squad, tmp_path: Path
) -> None:
    ready(context, tmp_path / "stick.zip")
    context.perform("back up")

    assert "every one read back" in context.state.status and "not encrypted" in context.state.status
    assert open_squad(squad.folder).choices.backed_up == "2026-05-14"
    assert [n.label for n in context.state.around.squad.notices] == []


def test_what_stays_out_of_a_back_up_is_listed_with_its_reason(
    context: Context, squad: Squad, tmp_path: Path
) -> None:
    squad.save_athlete(withdraw(squad.athlete("K07"), "film", "mother", "2026-05-10"))
    (squad.visit_folder("K07", DAY) / "sheet.pdf").write_bytes(b"%PDF")
    ready(context, tmp_path / "stick.zip")

    context.perform("back up")

    assert proposed(context) == [(f"athletes/K07/{DAY}/sheet.pdf", "no consent to give it out")]


def test_a_back_up_inside_the_squad_is_refused(context: Context, squad: Squad) -> None:
    ready(context, squad.folder / "b.zip")
    context.perform("back up")

    assert "lies in the squad itself" in context.state.error


def backed_up(context: Context, path: Path) -> None:
    ready(context, path)
    context.perform("back up")


def test_a_back_up_is_checked_before_it_is_offered_and_unpacks_beside_the_squad(
    context: Context, squad: Squad, tmp_path: Path
) -> None:
    before = contents(squad.folder)
    backed_up(context, tmp_path / "stick.zip")
    ready(context, tmp_path / "stick.zip", tmp_path / "fresh")

    context.perform("restore")
    assert not (tmp_path / "fresh").exists()
    context.perform("do it")

    def without_date(found: dict[str, bytes]) -> dict[str, bytes]:
        return {way: data for way, data in found.items() if way != "squad.json"}

    assert without_date(before) == without_date(contents(tmp_path / "fresh"))
    assert context.state.folder == tmp_path / "fresh"


def test_a_back_up_put_in_place_keeps_the_old_folder(
    context: Context, squad: Squad, tmp_path: Path
) -> None:
    backed_up(context, tmp_path / "stick.zip")
    squad.save_athlete(consenting("Z09"))
    ready(context, tmp_path / "stick.zip")
    context.perform("restore")
    words, in_place = context.state.around.proposal.proposal.more[0]  # type: ignore[union-attr]
    assert words == "In place of Tuesday…"

    in_place(context)

    assert open_squad(squad.folder).codes() == ("K07", "M12")
    (old,) = (p for p in tmp_path.iterdir() if p.name.startswith("Tuesday before"))
    assert open_squad(old).codes() == ("K07", "M12", "Z09")


def test_a_damaged_back_up_is_told_and_nothing_is_offered(context: Context, tmp_path: Path) -> None:
    backed_up(context, tmp_path / "stick.zip")
    data = bytearray((tmp_path / "stick.zip").read_bytes())
    data[len(data) // 2] ^= 0xFF
    (tmp_path / "stick.zip").write_bytes(bytes(data))
    ready(context, tmp_path / "stick.zip")

    context.perform("restore")

    assert "damaged" in context.state.error and context.state.page == "squad"


@pytest.fixture
def other_copy(squad: Squad, tmp_path: Path) -> Squad:
    shutil.copytree(squad.folder, tmp_path / "other")
    theirs = open_squad(tmp_path / "other")
    theirs.save_run("K07", DAY, "run-1", standard_run("CD", shift=2.0))
    theirs.save_athlete(consenting("Z09"))
    return theirs


def test_two_copies_show_their_conflict_with_both_markings_and_the_coach_chooses(
    context: Context, squad: Squad, other_copy: Squad
) -> None:
    before = contents(squad.folder)
    ready(context, other_copy.folder)
    context.perform("merge")

    proposal = context.state.around.proposal.proposal
    assert proposal
    (conflict,) = (line for line in proposal.lines if line.group == "Both have it, and differ")
    assert "by AB" in conflict.about and "by CD" in conflict.about
    assert conflict.table[0] == ("measure", "leg", "here", "there", "apart")
    assert len(conflict.table) > 5
    assert before == contents(squad.folder)

    choose(context.state, conflict.key, THEIRS)
    context.perform("do it")

    assert squad.visit("K07", DAY).runs == ("run-2",)
    assert squad.codes() == ("K07", "M12", "Z09")


def test_who_may_have_been_deleted_here_is_left_out_unless_asked_for(
    context: Context, squad: Squad, other_copy: Squad
) -> None:
    squad.save_choices(replace(squad.choices, deleted_on=("2026-05-01",)))
    ready(context, other_copy.folder)
    context.perform("merge")

    assert "1 May 2026" in " ".join(context.state.around.proposal.proposal.about)  # type: ignore[union-attr]
    context.perform("do it")

    assert squad.codes() == ("K07", "M12")


def test_a_folder_that_is_no_squad_is_told(context: Context, tmp_path: Path) -> None:
    (tmp_path / "holiday").mkdir()
    ready(context, tmp_path / "holiday")
    context.perform("merge")

    assert "is not a squad" in context.state.error


# damaged files


def test_a_squad_with_damaged_files_opens_says_so_and_lists_them(
    context: Context, squad: Squad
) -> None:
    (squad.athlete_folder("M12") / "athlete.json").write_text("{", "utf-8")

    use_squad(context, squad.folder)

    assert [row.code for row in context.state.around.squad.rows] == ["K07"]
    assert ("Damaged", "check squad") in [
        (n.label, n.action) for n in context.state.around.squad.notices
    ]
    context.perform("check squad")
    assert any("athlete.json" in way for way, _ in proposed(context))


def test_a_sound_squad_says_that_all_is_well(squad: Squad) -> None:
    shutil.rmtree(squad.athlete_folder("K07") / DAY)
    shutil.rmtree(squad.athlete_folder("M12") / DAY)

    said = findings(squad.folder, check_squad(squad))

    assert said.about == ("Every file can be read, nothing is missing and nothing is left over.",)


def test_a_folder_that_copies_itself_to_the_internet_is_pointed_out(
    tmp_path: Path,
) -> None:
    squad = squad_of(tmp_path / "CloudFolder" / "Tuesday")
    made = bare_context(tmp_path / "home", lambda: EVENING)
    use_squad(made, squad.folder)

    (notice,) = (n for n in made.state.around.squad.notices if n.label == "Copies itself")
    assert "out of the club" in notice.words


# the season's round


@pytest.fixture
def over(context: Context, squad: Squad) -> Callable[[str], None]:
    """Return a function that ends the season of the squad on a day."""

    def ended(day: str) -> None:
        squad.save_choices(replace(squad.choices, season_ends=day))
        use_squad(context, squad.folder)

    return ended


def test_minors_are_to_be_asked_once_the_season_is_over(
    context: Context, squad: Squad, over: Callable[[str], None]
) -> None:
    over("2026-05-01")

    (notice,) = (n for n in context.state.around.squad.notices if n.label == "New season")
    assert notice.words.startswith("The season is over: 2 athletes")
    context.perform(notice.action)
    assert [cells[0] for cells in proposed(context)] == ["K07", "M12"]
    choose(context.state, "M12", "archive")
    context.perform("do it")
    assert [squad.athlete(code).is_archived for code in squad.codes()] == [False, True]


def test_before_the_end_of_the_season_nobody_is_to_be_asked(
    context: Context, over: Callable[[str], None]
) -> None:
    over("2026-09-30")
    assert [n for n in context.state.around.squad.notices if n.label == "New season"] == []

    context.perform("ask for the season")
    assert "There is no athlete to ask now." in context.state.around.proposal.proposal.about  # type: ignore[union-attr]
