"""Tasks of a coach's first month, our own list, through services alone.

Tested elsewhere: 14 in test_two_coaches, 16, 17, 26 and 27 in test_season, 19 and 20 in
checklist.test_assess, 23 in test_care and test_photo_sheet, 25 in app.test_mark_deeds and
store.test_crash, 28 in test_beside, 29 in test_group.
"""

import csv
import io
import os
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import pypdf
import pytest

from tapmark.marks.people import Slot
from tapmark.marks.run import SetUp
from tapmark.services.clips import log_order, look_at, make_runs
from tapmark.services.exports import season_csv
from tapmark.services.group import group_of
from tapmark.services.pages import content_of, write_sheet
from tapmark.services.squads import delete_athlete
from tapmark.services.visits import read_visit
from tapmark.store.consent import withdraw
from tapmark.store.shots import clips_in, name_shot, new_list
from tests.services.made import FIRST, SECOND, TODAY, agreed, contents, place, run_of, squad_of

DAY = date.fromisoformat(TODAY)
SAMPLES = Path(__file__).parents[2] / "sample_frames"


@pytest.mark.usefixtures("blank_pages")
def test_a_coach_who_disagrees_overrides_with_a_reason_and_it_is_remembered(
    tmp_path: Path,
) -> None:
    """A task of a coach's first month."""
    runs = [run_of("over", 1), run_of("over", 2)]
    squad = squad_of(tmp_path / "s", [agreed()], {"K07": [(FIRST, runs), (SECOND, runs)]})
    by_rule = read_visit(place(squad), DAY).assessment.by_rule
    assert by_rule != (1,)
    visit = squad.visit("K07", FIRST)
    squad.save_visit(replace(visit, slots=(Slot(1),)))
    assert read_visit(place(squad), DAY).assessment.lacks_reason

    squad.save_visit(replace(visit, slots=(Slot(1),), reason="he asked for it himself"))

    said = read_visit(place(squad), DAY).assessment
    assert [chosen.item.number for chosen in said.slots] == [1]
    assert said.by_rule == by_rule and not said.lacks_reason
    coach = write_sheet(place(squad), "a4", "coach", DAY).with_suffix(".html").read_text("utf-8")
    assert "he asked for it himself" in coach
    write_sheet(place(squad), "a4", "athlete", DAY)
    again = squad.visit("K07", FIRST)
    assert ([slot.item for slot in again.slots or ()], again.reason) == (
        [1],
        "he asked for it himself",
    )


@pytest.mark.parametrize("n", [3, pytest.param(8, marks=pytest.mark.long)])
@pytest.mark.usefixtures("blank_pages")
def test_athletes_of_one_evening_each_get_their_own_page(n: int, tmp_path: Path) -> None:
    """A task of a coach's first month, all but the clock and the hand.

    How many actions one athlete takes in the window stands in tests/app/test_scripted_coach.py, the
    minutes by a published model of hands in tests/benchmarks/bench_coach.py.
    """
    codes = tuple(f"K{i:02}" for i in range(1, n + 1))
    squad = squad_of(tmp_path / "squad", [agreed(code) for code in codes], {})
    phone = tmp_path / "phone"
    phone.mkdir()
    for i in range(n):
        clip = phone / f"IMG_{i}.MOV"
        clip.write_bytes((SAMPLES / "P02" / "clip.mp4").read_bytes() + bytes([i]))
        os.utime(clip, (1_780_000_000 + 60 * i,) * 2)
    order = log_order(squad, DAY)
    shots = new_list(squad, TODAY, clips_in(phone), order)
    for i, code in enumerate(order):
        shots = name_shot(shots, i, code)

    looked = look_at(squad, shots, DAY)
    taken = make_runs(squad, shots.dated, looked, lambda athlete: SetUp(pain="no"), DAY)

    assert order == codes and [code for code, _, _ in taken.runs] == list(codes)
    for i, (code, dated, name) in enumerate(taken.runs):
        run = squad.load_run(code, dated, name)
        marked = run_of("over", i)
        squad.save_run(code, dated, name, replace(marked, source=run.source))
        sheet = write_sheet(place(squad, code, dated), "a4", "athlete", DAY)
        assert len(pypdf.PdfReader(sheet).pages) == 1
        html = (squad.visit_folder(code, dated) / "sheet.html").read_text("utf-8")
        assert [other for other in codes if other in html] == [code]
    assert {line.dated for line in group_of(squad, DAY).lines} == {TODAY}


def test_consent_taken_back_at_21_00_deletes_everything_of_one_athlete_with_a_receipt(
    tmp_path: Path,
) -> None:
    """A task of a coach's first month."""
    visits = {code: [(FIRST, [run_of("over", i)])] for i, code in enumerate(("K07", "M12"))}
    squad = squad_of(tmp_path / "s", [agreed(), agreed("M12")], visits)
    write_sheet(place(squad), "a4", "athlete", DAY)
    season_csv(squad, ["K07", "M12"], squad.folder, DAY)
    squad.save_athlete(withdraw(squad.athlete("K07"), "film", "parent", TODAY))
    evening = datetime.fromisoformat(f"{TODAY}T21:00:00")
    before = contents(squad.folder)

    planned = list(delete_athlete(squad.folder, "K07", True, evening, tmp_path / "cache"))
    assert contents(squad.folder) == before and "Back-ups and paper are out of reach." in planned
    receipt = list(delete_athlete(squad.folder, "K07", False, evening, tmp_path / "cache"))

    everything = "everything of athlete K07 that is known in this squad"
    assert receipt[0] == f"Deleted on 1 July 2026: {everything}."
    assert any("Not reached: back-ups" in line for line in receipt)
    left = contents(squad.folder)
    assert [way for way, data in left.items() if "K07" in way or b"K07" in data] == []
    assert squad.run_path("M12", FIRST, "run-1").exists()


@pytest.mark.parametrize(("style", "birth_year"), [("over", 2000), ("well", 2012)])
def test_a_club_printer_with_letter_paper_still_gets_one_page(
    tmp_path: Path, style: str, birth_year: int
) -> None:
    """The page on the paper of another country: 8.5 × 11 inches (ANSI), 72 points each.

    Points: ISO 32000-1.
    """
    visits = {"K07": [(FIRST, [run_of(style, 1)])]}
    squad = squad_of(tmp_path / "s", [agreed(birth_year=birth_year)], visits)

    (page,) = pypdf.PdfReader(write_sheet(place(squad), "letter", "athlete", DAY)).pages

    assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
        (612.0, 792.0), abs=0.2
    )


def test_a_tight_hamstring_gives_no_drills_and_the_season_opens_with_decimal_commas(
    tmp_path: Path,
) -> None:
    """A task of a coach's first month."""
    visits = {"K07": [(FIRST, [run_of("over", 1)]), (SECOND, [run_of("over", 2, pain="yes")])]}
    squad = squad_of(tmp_path / "s", [agreed()], visits)

    said = content_of(place(squad, dated=SECOND), "a4", DAY).assessment
    text = season_csv(squad, ["K07"], tmp_path, DAY, ",").read_text("utf-8-sig")

    assert said.slots == () and "physio" in said.blocked
    rows = list(csv.DictReader(io.StringIO(text, newline=""), delimiter=";"))
    assert {row["date"] for row in rows} == {FIRST, SECOND}
    numbers = [row["value"] for row in rows if row["value"]]
    assert numbers and all(float(number.replace(",", ".")) is not None for number in numbers)
    assert any("," in number for number in numbers) and not any("." in n for n in numbers)


def test_a_squad_s_own_words_and_the_athlete_s_own_cue_stand_on_the_page(tmp_path: Path) -> None:
    """The phrase bank is the squad's: any phrase may be put in its checks.toml, dated."""
    squad = squad_of(
        tmp_path / "s", [agreed(own_cue="float")], {"K07": [(FIRST, [run_of("over")])]}
    )
    (squad.folder / "checks.toml").write_text(
        'format = 1\n[words]\ndated = 2026-01-01\nreason = "the words of our club"\n'
        '[words.items.4]\ncue = "Up and through"\nadult = "Your leg waits. Let it come."\n',
        "utf-8",
    )
    visit = squad.visit("K07", FIRST)
    squad.save_visit(replace(visit, slots=(Slot(4),), reason="asked for it"))

    page = write_sheet(place(squad), "a4", "athlete", DAY).with_suffix(".html").read_text("utf-8")
    assert "“Up and through”" in page and "Your leg waits. Let it come." in page
    assert "float" in page

    squad.save_visit(replace(visit, slots=(Slot(4, "be a giraffe"),), reason="her words"))
    page = write_sheet(place(squad), "a4", "athlete", DAY).with_suffix(".html").read_text("utf-8")
    assert "“be a giraffe”" in page and "Up and through" not in page
