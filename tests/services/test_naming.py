"""An evening's clips become runs under the gate, once each, and stay untouched where they are."""

import os
import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from tapmark.errors import NoConsent
from tapmark.marks.people import Athlete
from tapmark.marks.run import Run, SetUp
from tapmark.services.clips import TakenIn, log_order, look_at, make_runs, offered
from tapmark.services.pages import write_filming_card, write_shot_log
from tapmark.store.consent import withdraw
from tapmark.store.shot_list import ShotList
from tapmark.store.shots import clips_in, name_shot, new_list, skip_shot
from tapmark.store.squad import Squad, make_squad
from tests.store.made import consenting

SAMPLE = Path(__file__).parents[2] / "sample_frames" / "P02" / "clip.mp4"
TODAY = date(2026, 5, 14)
DAY = TODAY.isoformat()


def take_in(
    squad: Squad, shots: ShotList, set_up_of: Callable[[Athlete], SetUp], today: date
) -> TakenIn:
    """Look at the named clips and make their runs, as the window does in two steps."""
    return make_runs(squad, shots.dated, look_at(squad, shots, today), set_up_of, today)


@pytest.fixture
def squad(tmp_path: Path) -> Squad:
    made = make_squad(tmp_path / "Tuesday", "Tuesday")
    for code in ("K07", "M12"):
        made.save_athlete(consenting(code))
    return made


@pytest.fixture
def phone(tmp_path: Path) -> Path:
    """Three clips as they come from a phone, each with contents of its own."""
    folder = tmp_path / "phone"
    folder.mkdir()
    for i in range(3):
        clip = folder / f"IMG_{9 + i}.MOV"
        shutil.copyfile(SAMPLE, clip)
        with clip.open("ab") as file:
            file.write(bytes([i]))
        os.utime(clip, (1_778_000_000 + 60 * i,) * 2)
    return folder


@pytest.fixture
def shots(squad: Squad, phone: Path) -> ShotList:
    """K07 and M12 named, the clip between them left out."""
    made = new_list(squad, DAY, clips_in(phone), ())
    made = name_shot(made, 0, "K07")
    return name_shot(skip_shot(made, 1), 2, "M12")


def asked(athlete: Athlete) -> SetUp:
    return SetUp(leg_cm=athlete.lengths[-1].cm, leg_source="tape")


def test_each_named_clip_becomes_a_run_with_its_clip_and_its_athletes_leg(
    squad: Squad, phone: Path, shots: ShotList
) -> None:
    before = {path: path.read_bytes() for path in phone.iterdir()}

    taken = take_in(squad, shots, asked, TODAY)

    assert taken.runs == (("K07", DAY, "run-1"), ("M12", DAY, "run-1"))
    run = squad.load_run("K07", DAY, "run-1")
    assert (run.source.kind, run.source.size_px, run.set_up.leg_cm) == ("clip", (1280, 720), 86.5)
    where = squad.run_path("K07", DAY, "run-1").parent / run.source.path
    assert where.resolve() == (phone / "IMG_9.MOV").resolve()
    assert before == {path: path.read_bytes() for path in phone.iterdir()}


def test_an_evening_may_be_taken_in_twice(squad: Squad, shots: ShotList) -> None:
    take_in(squad, shots, asked, TODAY)

    again = take_in(squad, shots, asked, TODAY)

    assert (again.runs, again.known) == ((), 2)
    assert squad.run_names("K07", DAY) == ("run-1",)


def test_without_consent_nothing_is_taken_in_and_the_others_are(
    squad: Squad, shots: ShotList
) -> None:
    squad.save_athlete(withdraw(squad.athlete("K07"), "film", "mother", "2026-05-10"))

    taken = take_in(squad, shots, asked, TODAY)

    assert taken.runs == (("M12", DAY, "run-1"),)
    assert "K07" in taken.refused[0] and "withdrawn" in taken.refused[0]
    assert squad.visit_dates("K07") == ()


@pytest.mark.parametrize("damage", ["gone", "other", "no clip"])
def test_a_clip_that_is_not_what_was_named_is_told_and_nothing_is_made(
    squad: Squad, phone: Path, shots: ShotList, damage: str
) -> None:
    clip = phone / "IMG_9.MOV"
    if damage == "gone":
        clip.unlink()
    elif damage == "other":
        shutil.copyfile(phone / "IMG_11.MOV", clip)
    else:
        clip.write_text("not a clip", "utf-8")
        shots = name_shot(new_list(squad, DAY, (clip,), ()), 0, "K07")

    taken = take_in(squad, shots, asked, TODAY)

    assert len(taken.refused) == 1 and "IMG_9" in taken.refused[0]
    assert squad.visit_dates("K07") == ()


def test_the_shot_log_offers_six_passes_of_each_in_its_order(squad: Squad) -> None:
    squad.new_run("K07", "2026-03-01", Run())

    order = log_order(squad, TODAY)

    assert order == ("M12", "K07")  # never filmed comes first
    assert offered(order) == ("M12",) * 6 + ("K07",) * 6


def test_cards_for_the_track_are_written_and_nobody_without_consent_is_on_them(
    squad: Squad,
) -> None:
    card, log = write_filming_card(squad, TODAY), write_shot_log(squad, ("K07",), TODAY)

    assert {card.name, log.name} == {"filming-card-2026-05-14.pdf", "shot-log-2026-05-14.pdf"}
    assert all(path.read_bytes().startswith(b"%PDF") for path in (card, log))
    assert "Filming card" in card.with_suffix(".html").read_text("utf-8")
    assert "<b>K07</b>" in log.with_suffix(".html").read_text("utf-8")
    squad.save_athlete(withdraw(squad.athlete("K07"), "film", "mother", "2026-05-10"))
    with pytest.raises(NoConsent):
        write_shot_log(squad, ("M12", "K07"), TODAY)
