"""Where an athlete stands: the one thing, how it went, and what stops it."""

import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from tapmark.report.drawing.signs import CHANGES, CLOSER
from tapmark.services.demo import make_sample_squad
from tapmark.services.standing import standing
from tapmark.store.squad import Squad, make_squad, open_squad
from tests.app.seasons import DAYS, with_season

TODAY = date(2026, 5, 14)


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One season, drawn once: each test works on a copy of it."""
    squad = make_squad(tmp_path_factory.mktemp("drawn") / "S", "S")
    with_season(squad, "K07")
    return squad.folder


@pytest.fixture
def squad(drawn: Path, tmp_path: Path) -> Squad:
    return open_squad(Path(shutil.copytree(drawn, tmp_path / "S")))


def test_the_one_thing_comes_with_last_time_now_and_its_trend(squad: Squad) -> None:
    """The drawn runner lands with the foot ahead of the knee on all three days."""
    found = standing(squad, "K07", TODAY)

    assert found and (found.thing, found.about) == ("Foot ahead of knee", "Land under you")
    assert (found.dated, found.name, found.unit) == (DAYS[-1], "Shin angle (reach)", "°")
    assert found.band and found.band.limit_high and found.was and found.now
    assert found.now.value > found.band.limit_high and found.word in CHANGES
    assert len(found.points) == 3 and found.pair


def test_on_a_first_visit_nothing_is_compared(squad: Squad) -> None:
    for dated in DAYS[1:]:
        shutil.rmtree(squad.visit_folder("K07", dated))
    found = standing(squad, "K07", TODAY)

    assert found and found.now and found.was is None and found.word == ""


def test_own_words_of_the_athlete_come_first(squad: Squad) -> None:
    squad.save_athlete(replace(squad.athlete("K07"), own_cue="hot floor"))
    found = standing(squad, "K07", TODAY)

    assert found and found.about == "hot floor"


@pytest.mark.parametrize(
    ("pain", "clearance", "said"),
    [
        ("yes", "", ("Pain on 1 May", "no drills until cleared")),
        ("not answered", "", ("Pain not asked on 1 May", "answer it on Film")),
        ("no", "under treatment", ("Under treatment", "no drills until cleared")),
    ],
)
def test_what_stops_it_stands_in_place_of_the_one_thing(
    squad: Squad, pain: str, clearance: str, said: tuple[str, str]
) -> None:
    squad.save_athlete(replace(squad.athlete("K07"), clearance=clearance))
    for name, run in squad.runs("K07", DAYS[-1]):
        changed = replace(run, set_up=replace(run.set_up, pain=pain))
        squad.save_run("K07", DAYS[-1], name, changed)
    found = standing(squad, "K07", TODAY)

    assert found and (found.thing, found.about) == said
    assert found.since == "" and found.now is None and found.pair is None


def test_who_was_never_marked_stands_nowhere_and_a_damaged_visit_is_left_out(
    squad: Squad,
) -> None:
    assert standing(squad, "M12", TODAY) is None
    (squad.visit_folder("K07", DAYS[-1]) / "visit.json").write_text("{", "utf-8")
    found = standing(squad, "K07", TODAY)

    assert found and found.dated == DAYS[1] and len(found.points) == 2


def test_the_sample_squad_shows_a_season_in_which_the_one_thing_came_closer(tmp_path: Path) -> None:
    """P02 is drawn three times: twice with the rear leg later, and hardly changed between."""
    squad = make_sample_squad(tmp_path / "sample", TODAY)
    found = standing(squad, "P02", TODAY)

    assert found and (found.word, len(found.points)) == (CLOSER, 3)
    assert found.since == squad.visit_dates("P02")[0] and found.was and found.now
    assert not list(tmp_path.glob("sample/squad/**/*.pdf")), "pages are the demo's"
