"""Who is due, and how a squad is spread over evenings."""

from dataclasses import replace
from pathlib import Path

import pytest

from tapmark.marks.people import Athlete
from tapmark.store import consent
from tapmark.store.rota import RotaLine, drill_groups, due, evenings, rota
from tests.store import made


def test_who_waits_longest_comes_first_and_the_archive_stays_out(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07", "M12", "P03", "Z09"))
    squad.new_run("K07", "2026-05-10", made.standard_run())
    squad.save_athlete(Athlete("N01"))
    squad.save_athlete(replace(squad.athlete("Z09"), is_archived=True))

    lines = rota(squad, "2026-05-14")

    assert [(line.code, line.weeks, line.is_due, line.consent) for line in lines] == [
        ("N01", None, True, "never asked"),
        ("M12", 8, True, "given"),
        ("P03", 8, True, "given"),
        ("K07", 0, False, "given"),
    ]
    assert [line.code for line in due(lines)] == ["M12", "P03"]


def test_a_visit_without_a_run_is_no_filming(tmp_path: Path) -> None:
    """A day that was opened and left, or whose runs were deleted, takes nobody off the rota."""
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    squad.new_visit("K07", "2026-05-10")
    squad.save_athlete(made.consenting("N01"))
    squad.new_visit("N01", "2026-05-10")

    lines = {line.code: line for line in rota(squad, "2026-05-14")}

    assert (lines["K07"].last, lines["K07"].is_due) == ("2026-03-14", True)
    assert (lines["N01"].last, lines["N01"].weeks, lines["N01"].is_due) == ("", None, True)


@pytest.mark.parametrize(("today", "is_due"), [("2026-04-18", False), ("2026-04-19", True)])
def test_due_means_over_five_weeks(today: str, is_due: bool, tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))

    assert rota(squad, today)[0].is_due == is_due


def test_a_clock_set_back_makes_nobody_due(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))

    (line,) = rota(squad, "2020-01-01")

    assert (line.weeks, line.is_due) == (None, False)


def test_an_expired_consent_is_shown_beside_the_name(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    athlete = consent.give(squad.athlete("K07"), "film", "parent", "2025-05-01", "2026-05-01")
    squad.save_athlete(athlete)

    (line,) = rota(squad, "2026-05-14")

    assert (line.consent, line.can_be_filmed) == ("expired", False)


@pytest.mark.parametrize(
    ("n", "sizes"),
    [(0, []), (1, [1]), (8, [8]), (9, [5, 4]), (25, [7, 6, 6, 6]), (60, [8] * 4 + [7] * 4)],
)
def test_names_are_spread_evenly(n: int, sizes: list[int]) -> None:
    lines = [RotaLine(f"K{i}", "", "", None, True, "given") for i in range(n)]

    nights = evenings(lines)

    assert [len(night) for night in nights] == sizes
    assert [line for night in nights for line in night] == lines


def test_those_who_share_a_root_train_together() -> None:
    groups = drill_groups({"K07": 3, "M12": 1, "P03": 3, "A01": 5})

    assert groups == ((3, ("K07", "P03")), (1, ("M12",)), (5, ("A01",)))
