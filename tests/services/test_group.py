"""The squad at a glance: codes and words, nobody ranked, nobody without consent."""

import shutil
from dataclasses import fields, replace
from datetime import date
from pathlib import Path

import pypdf
import pytest

from tapmark.checklist.verdict import WORDS
from tapmark.errors import NoConsent
from tapmark.marks.run import Run
from tapmark.report.pages.content import GroupContent, GroupLine
from tapmark.services.group import group_of, write_group
from tapmark.store.squad import Squad, open_squad
from tests.services.made import (
    FIRST,
    THIRD,
    TODAY,
    agreed,
    contents,
    run_of,
    squad_of,
    with_answer,
)

DAY = date.fromisoformat(TODAY)
CODES = ("K01", "K02", "K03", "K04")


def three_passes(style: str, seed: int, **answers: object) -> list:  # type: ignore[type-arg]
    return [run_of(style, 10 * seed + i, **answers) for i in range(3)]


@pytest.fixture(scope="module")
def made_squad(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two whose rear leg is late, one who runs well, one never filmed; all adults."""
    visits = {
        "K01": [(THIRD, three_passes("over", 1))],
        "K02": [(FIRST, three_passes("well", 5)), (THIRD, three_passes("over", 2))],
        "K03": [(FIRST, three_passes("well", 3))],
        "K04": [],
    }
    folder = tmp_path_factory.mktemp("group") / "squad"
    return squad_of(folder, [agreed(code) for code in CODES], visits).folder


@pytest.fixture
def squad(made_squad: Path, tmp_path: Path) -> Squad:
    """A copy of it for one test."""
    return open_squad(shutil.copytree(made_squad, tmp_path / "squad"))


def line_of(content: GroupContent, code: str) -> GroupLine:
    return next(line for line in content.lines if line.code == code)


def test_a_tuesday_group_sheet_tells_shared_roots_and_who_is_due_on_one_page(
    squad: Squad,
) -> None:
    """A task of a coach's first month."""
    content = group_of(squad, DAY)

    assert content.groups == ((4, ("K01", "K02")),) and content.common == (4,)
    assert [code for evening in content.evenings for code in evening] == ["K04", "K03"]
    pdf, told = write_group(squad, DAY)
    assert told == ()
    pages = pypdf.PdfReader(pdf).pages
    assert len(pages) == 1
    html = pdf.with_suffix(".html").read_text("utf-8")
    assert all(code in html for code in CODES)


def test_lines_stand_in_the_order_of_codes_and_carry_words_only(squad: Squad) -> None:
    content = group_of(squad, DAY)

    assert tuple(line.code for line in content.lines) == CODES
    for line in content.lines:
        assert set(line.words) <= {*WORDS, "shown"}
        assert len(line.words) in (0, 18)
    kinds = {field.type for field in fields(GroupLine)}
    assert not {"int", "float"} & kinds  # no sum, no score


def test_the_last_visit_counts_and_one_never_filmed_has_no_words(squad: Squad) -> None:
    content = group_of(squad, DAY)

    assert (line_of(content, "K02").dated, line_of(content, "K02").root) == (THIRD, 4)
    assert line_of(content, "K04") == GroupLine("K04", "sprint", is_due=True, note="first visit")


def test_what_cant_be_told_is_to_be_filmed_again(squad: Squad) -> None:
    squad.save_athlete(agreed("K05"))
    squad.new_run("K05", THIRD, blurred(run_of("over", 4)))

    content = group_of(squad, DAY)

    again = line_of(content, "K05").again
    assert again and "K05" in content.again
    words = line_of(content, "K05").words
    assert {words[item - 1] for item in again} == {"can't tell"}


def blurred(run: Run) -> Run:
    """The run with every picture blurred: each tap counts with twice its usual doubt."""
    frames = tuple(replace(frame, is_blurred=True) for frame in run.steps[0].key_frames)
    return replace(run, steps=(replace(run.steps[0], key_frames=frames),))


@pytest.mark.parametrize("pain", ["yes", "not answered"])
def test_pain_gives_no_drills_and_is_nobody_elses_business(tmp_path: Path, pain: str) -> None:
    visits = {code: [(THIRD, three_passes("over", i, pain="no"))] for i, code in enumerate(CODES)}
    visits["K01"] = [(THIRD, three_passes("over", 9, pain=pain))]
    squad = squad_of(tmp_path / "squad", [agreed(code) for code in CODES], visits)

    content = group_of(squad, DAY)

    line = line_of(content, "K01")
    assert (line.works_on, line.root, line.note) == ((), None, "no drills now, ask")
    assert all("K01" not in codes for _, codes in content.groups)
    assert "pain" not in write_group(squad, DAY)[0].with_suffix(".html").read_text("utf-8").lower()


@pytest.mark.parametrize("state", ["never asked", "refused", "withdrawn", "expired", "not yet"])
def test_whoever_did_not_agree_is_told_beside_the_page_and_not_on_it(
    squad: Squad, state: str
) -> None:
    squad.save_athlete(with_answer(agreed("K02"), "film", state))

    pdf, told = write_group(squad, DAY)

    assert len(told) == 1 and told[0].startswith("K02: ")
    assert "K02" not in pdf.with_suffix(".html").read_text("utf-8")
    assert "K02" not in pypdf.PdfReader(pdf).pages[0].extract_text()


def test_when_nobody_agreed_no_sheet_is_written(squad: Squad) -> None:
    for code in CODES:
        squad.save_athlete(with_answer(agreed(code), "film", "refused"))
    before = contents(squad.folder)

    with pytest.raises(NoConsent, match="Nobody may be on a group sheet"):
        write_group(squad, DAY)

    assert contents(squad.folder) == before


def test_the_archived_are_not_on_it(squad: Squad) -> None:
    squad.save_athlete(agreed("K01", is_archived=True))

    assert "K01" not in {line.code for line in group_of(squad, DAY).lines}


def test_a_root_of_long_ago_makes_no_group_now(squad: Squad) -> None:
    """A priority stays four to six weeks (common practice, no source; checks.toml)."""
    content = group_of(squad, date(2026, 8, 15))

    assert content.groups == () == content.common
    assert line_of(content, "K01").words[3] == "seen"


def test_a_damaged_visit_is_told_and_the_visit_before_it_shown(squad: Squad) -> None:
    path = squad.run_path("K02", THIRD, "run-1")
    path.write_bytes(path.read_bytes()[:99])

    pdf, told = write_group(squad, DAY)

    assert any("run-1.json" in each for each in told)
    line = line_of(group_of(squad, DAY), "K02")
    assert (line.dated, line.note) == (FIRST, "a visit cannot be read")
    assert pdf.exists()


def test_a_folder_synced_half_way_still_makes_a_sheet(squad: Squad) -> None:
    """An athlete's file that has not arrived yet, and a visit without its own file."""
    (squad.athlete_folder("K01") / "athlete.json").unlink()
    (squad.visit_folder("K02", THIRD) / "visit.json").unlink()

    content = group_of(squad, DAY)

    assert [line.code for line in content.lines] == ["K02", "K03", "K04"]
    assert line_of(content, "K02").dated == THIRD
