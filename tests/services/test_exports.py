"""What leaves as a file: tables that data frames and spreadsheets read, notes without opinions."""

import csv
import io
import re
from dataclasses import replace
from datetime import date
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from tapmark.checklist.criteria import load
from tapmark.errors import CannotWrite, FileDamaged, NoConsent
from tapmark.marks.edits import draw, follow
from tapmark.marks.run import FreeMark, Place
from tapmark.measures.result import Measured
from tapmark.services.exports import MARK_COLUMNS, marks_csv, physio_note, season_csv, taps_csv
from tapmark.services.measuring import COLUMNS, numbers_of
from tapmark.store.squad import Squad
from tests.services.made import (
    FIRST,
    SECOND,
    TODAY,
    agreed,
    contents,
    rear_of,
    run_of,
    squad_of,
    with_answer,
)

DAY = date.fromisoformat(TODAY)


@pytest.fixture
def squad(tmp_path: Path) -> Squad:
    visits = {
        "K07": [
            (FIRST, [run_of("over", 1)]),
            (SECOND, [run_of("over", 2), rear_of("left", 20.0)]),
        ],
        "M12": [(FIRST, [run_of("well", 3)])],
    }
    return squad_of(tmp_path / "squad", [agreed(), agreed("M12")], visits)


def table(path: Path, delimiter: str = ",") -> list[dict[str, str]]:
    text = path.read_bytes().decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline=""), delimiter=delimiter))


def test_a_season_has_one_row_a_measure_step_and_run(squad: Squad, tmp_path: Path) -> None:
    rows = table(season_csv(squad, ["K07"], tmp_path, DAY))

    keys = [(r["date"], r["run"], r["step"], r["key"], r["leg"]) for r in rows]
    assert len(keys) == len(set(keys))
    assert {r["date"] for r in rows} == {FIRST, SECOND}
    assert tuple(rows[0]) == COLUMNS
    for row in rows:
        assert bool(row["value"]) != bool(row["reason"])
        assert bool(row["value"]) == bool(row["plus_minus_95"])


def test_the_table_says_what_a_reader_needs_to_judge_a_number(squad: Squad, tmp_path: Path) -> None:
    """Limits as checks.toml has them: reach in a sprint is fine to 7, limit 12."""
    rows = table(season_csv(squad, ["K07"], tmp_path, DAY))

    reach = next(r for r in rows if r["key"] == "reach" and r["leg"] == "near")
    assert (reach["side"], reach["frame"], reach["unit"]) == ("right", "touchdown", "°")
    assert (reach["fine_high"], reach["limit_high"], reach["limit_low"]) == ("7.0", "12.0", "")
    assert (reach["word"], reach["fps"], reach["marker"]) == ("seen", "240.0", "S")
    turn = next(r for r in rows if r["key"] == "foot_turn")
    assert (turn["side"], turn["view"]) == ("left", "rear")


def test_a_decimal_comma_gives_the_same_numbers_to_a_spreadsheet(
    squad: Squad, tmp_path: Path
) -> None:
    """Semicolons part cells, and a byte order mark tells UTF-8: common practice, no source."""
    with_point = table(season_csv(squad, ["K07"], tmp_path, DAY))
    path = season_csv(squad, ["K07"], tmp_path, DAY, ",")

    assert path.read_bytes().startswith(b"\xef\xbb\xbf")
    with_comma = table(path, ";")
    assert len(with_comma) == len(with_point)
    for comma, point in zip(with_comma, with_point, strict=True):
        assert comma["value"].replace(",", ".") == point["value"]
        assert "." not in comma["value"] and "." not in comma["plus_minus_95"]


def test_words_from_a_file_cannot_run_as_a_formula(squad: Squad, tmp_path: Path) -> None:
    visit = squad.visit_dates("M12")[0]
    run = squad.load_run("M12", visit, "run-1")
    squad.save_run("M12", visit, "run-1", replace(run, marked_by="=1+1"))

    for path in (
        season_csv(squad, ["M12"], tmp_path, DAY),
        taps_csv(squad, ["M12"], tmp_path, DAY),
    ):
        assert b"'=1+1" in path.read_bytes()
        assert not re.search(rb"[,\n]=1\+1", path.read_bytes())


def test_raw_taps_come_back_as_they_were_tapped(squad: Squad, tmp_path: Path) -> None:
    rows = table(taps_csv(squad, ["M12"], tmp_path, DAY))

    run = squad.load_run("M12", FIRST, "run-1")
    hip = run.steps[0].key_frames[0].at("hip")
    row = next(r for r in rows if r["event"] == "touchdown" and r["point"] == "hip")
    assert (float(row["x_px"]), float(row["y_px"])) == hip
    assert len(rows) == sum(1 for _ in run.taps()) == 32


def test_own_lines_notes_and_paths_come_with_their_values_and_places(
    squad: Squad, tmp_path: Path
) -> None:
    run = squad.load_run("M12", FIRST, "run-1")
    frame = run.steps[0].key_frames[0]
    ends = (frame.at("near knee"), frame.at("near ankle"))
    run = draw(run, FreeMark("line", frame.picture, ends, "=shin", frame.time_s))
    run = draw(run, FreeMark("note", frame.picture, ends[:1], "late"))
    run = follow(run, "hip", Place(frame.picture, frame.at("hip"), frame.time_s))
    squad.save_run("M12", FIRST, "run-1", run)

    rows = table(marks_csv(squad, ["M12"], tmp_path, DAY))

    assert tuple(rows[0]) == MARK_COLUMNS
    assert [(r["kind"], r["name"]) for r in rows] == [
        *[("line", "'=shin")] * 4,
        ("note", "late"),
        ("path", "hip"),
        ("path value", "step 1"),
    ]
    lean, *_, note, path, dip = rows
    assert dip["value"] == "" and "has 1 of the 4 places needed" in dip["reason"]
    assert (lean["what"], lean["unit"]) == ("from the vertical", "°")
    assert float(lean["plus_minus_95"]) > 0 and lean["reason"] == ""
    assert (float(lean["x2_px"]), float(lean["y2_px"])) == ends[1]
    assert (note["value"], note["x2_px"]) == ("", "")
    assert (float(path["x1_px"]), float(path["y1_px"])) == frame.at("hip")
    assert float(path["time_s"]) == frame.time_s
    shin = np.subtract(ends[0], ends[1])  # up from the ankle; a picture's y points down
    assert float(lean["value"]) == pytest.approx(
        np.degrees(np.arctan2(run.travel_sign * shin[0], -shin[1])), abs=0.06
    )


def test_a_table_of_several_carries_no_code_in_its_name_and_all_in_its_rows(
    squad: Squad, tmp_path: Path
) -> None:
    one, both = (season_csv(squad, codes, tmp_path, DAY) for codes in (["K07"], ["K07", "M12"]))

    assert (one.name, both.name) == (f"K07-season-{TODAY}.csv", f"season-{TODAY}.csv")
    assert {row["code"] for row in table(both)} == {"K07", "M12"}


def test_one_without_consent_keeps_the_whole_table_back(squad: Squad, tmp_path: Path) -> None:
    squad.save_athlete(with_answer(agreed("M12"), "film", "withdrawn"))
    before = contents(tmp_path)

    for write in (season_csv, taps_csv, marks_csv):
        with pytest.raises(NoConsent, match="M12: the consent “film” was withdrawn"):
            write(squad, ["K07", "M12"], tmp_path, DAY)

    assert contents(tmp_path) == before


def test_a_damaged_run_stops_the_table_and_leaves_nothing_half_written(
    squad: Squad, tmp_path: Path
) -> None:
    path = squad.run_path("K07", SECOND, "run-1")
    path.write_bytes(path.read_bytes()[:100])

    with pytest.raises(FileDamaged, match="run-1"):
        season_csv(squad, ["K07"], tmp_path, DAY)

    assert list(tmp_path.glob("*.csv")) == []


def test_a_folder_that_is_gone_is_told(squad: Squad, tmp_path: Path) -> None:
    with pytest.raises(CannotWrite, match="the folder is gone"):
        season_csv(squad, ["K07"], tmp_path / "nowhere", DAY)


def test_the_note_for_a_physio_has_numbers_with_their_doubt_and_no_opinion(
    squad: Squad, tmp_path: Path
) -> None:
    path = physio_note(squad, "K07", SECOND, tmp_path, DAY)

    text = path.read_text("utf-8")
    assert path.name == f"K07-note-{SECOND}.txt"
    assert re.search(r"Reach: shank at touchdown, right +\d+ ± \d+ °", text)
    assert re.search(r"Foot turn at push-off, left +−?\d+ ± \d+ °", text)
    assert "Difference to 1 April 2026" in text and "Pain on that day" in text
    words = load().words.leaves
    opinions = [words[key] for key in words if key.startswith(("verdicts.", "drills."))]
    opinions += [words[f"items.{n}.{what}"] for n in range(1, 19) for what in ("name", "cue")]
    said = [each for each in opinions if len(each) > 6 and each.lower() in text.lower()]
    assert said == ["Leaning back"]  # which way the number of the trunk counts, no more


def test_every_sentence_of_the_note_is_true_of_the_visit(squad: Squad, tmp_path: Path) -> None:
    """Year of birth × answer about pain × first or later visit."""
    words = load().words
    for year, pain, dated in product((1996, None), ("no", "yes", "not answered"), (FIRST, SECOND)):
        squad.save_athlete(replace(agreed(), birth_year=year))
        for name in squad.run_names("K07", dated):
            run = squad.load_run("K07", dated, name)
            asked = replace(run, set_up=replace(run.set_up, pain=pain))
            squad.save_run("K07", dated, name, asked)
        text = physio_note(squad, "K07", dated, tmp_path, DAY).read_text("utf-8")
        holds = {
            "born": year is not None,
            "born_unknown": year is None,
            "side_view": True,
            "rear_view": dated == SECOND,
            "front_view": False,
            "difference": dated == SECOND,
            "other_conditions": False,
            "pain": True,
        }
        for key, is_true in holds.items():
            plain = re.split(r"\{\w+\}", words.leaves[f"note.{key}"])
            said = re.search(".+".join(map(re.escape, plain)), text)
            assert bool(said) == is_true, (key, year, pain, dated)
        assert f"as asked by the coach: {pain}" in text


def test_the_note_takes_a_decimal_comma_in_numbers_and_leaves_sentences_alone(
    squad: Squad, tmp_path: Path
) -> None:
    text = physio_note(squad, "K07", FIRST, tmp_path, DAY, ",").read_text("utf-8")

    assert "Leg length 88,0 cm" in text and "No diagnosis and no advice." in text
    assert not re.search(r"\d\.\d", text)


@pytest.mark.parametrize("state", ["never asked", "refused", "withdrawn", "expired", "not yet"])
def test_no_note_leaves_without_the_consent_to_share_with_a_physio(
    squad: Squad, tmp_path: Path, state: str
) -> None:
    squad.save_athlete(with_answer(agreed(), "share with physio", state))
    before = contents(tmp_path)

    with pytest.raises(NoConsent, match="share with physio"):
        physio_note(squad, "K07", FIRST, tmp_path, DAY)

    assert contents(tmp_path) == before


def test_the_table_is_read_back_whole_by_a_strict_reader(squad: Squad, tmp_path: Path) -> None:
    """RFC 4180: CR LF ends a line, quotes in a cell are doubled."""
    marker = 'She said "mine",\nthen left'
    run = squad.load_run("M12", FIRST, "run-1")
    squad.save_run("M12", FIRST, "run-1", replace(run, marked_by=marker))

    data = season_csv(squad, ["M12"], tmp_path, DAY).read_bytes()

    rows = list(csv.DictReader(io.StringIO(data.decode(), newline=""), strict=True))
    assert {row["marker"] for row in rows} == {marker}
    assert {len(row) for row in rows} == {len(COLUMNS)}
    assert data.endswith(b"\r\n")


@pytest.mark.parametrize(("value", "written"), [(-0.004, "0.0"), (-0.06, "-0.1"), (7.26, "7.3")])
def test_a_value_has_one_digit_more_than_paper_and_never_a_minus_nothing(
    value: float, written: str
) -> None:
    result = Measured("reach", "near", value, 1.0, "°", digits=0)

    assert (repr(numbers_of(result)[0]), numbers_of(result)[1]) == (written, 2.0)
