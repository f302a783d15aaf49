"""Drawn pictures that leave: nothing hidden in the file, the trend says what it shows."""

from datetime import date
from pathlib import Path

import pytest
from PIL import Image

from tapmark.errors import NotThere
from tapmark.services.pictures import sides_png, step_png, trend_png
from tapmark.services.season import (
    difference_points,
    difference_words,
    over_season,
    readings_of,
    trend_visits,
    trend_words,
)
from tapmark.store.squad import Squad
from tests.services.made import FIRST, SECOND, THIRD, TODAY, agreed, place, run_of, squad_of

DAY = date.fromisoformat(TODAY)


def season(folder: Path) -> Squad:
    visits = [(d, [run_of("over", i)]) for i, d in enumerate((FIRST, SECOND, THIRD))]
    return squad_of(folder / "squad", [agreed()], {"K07": visits})


@pytest.mark.parametrize("what", ["step", "trend"])
def test_a_drawn_picture_holds_pixels_and_nothing_else(tmp_path: Path, what: str) -> None:
    squad = season(tmp_path)
    if what == "step":
        path = step_png(place(squad), tmp_path, DAY)
    else:
        path = trend_png(squad, "K07", "reach", "right", tmp_path, DAY)

    with Image.open(path) as picture:
        assert picture.info == {} and not picture.getexif()
        darkest, lightest = picture.convert("L").getextrema()
    assert (darkest, lightest) == (0, 255)
    assert path.name.startswith(f"K07-{what}")


def test_a_trend_shows_each_visit_at_its_day_with_its_doubt_and_says_the_slope(
    tmp_path: Path,
) -> None:
    squad = season(tmp_path)
    measure = over_season(readings_of(squad, "K07", DAY, []), "reach", "right")

    dots = trend_visits(measure)

    assert [dot.day - dots[0].day for dot in dots] == [0, 35, 70]
    assert all(dot.plus_minus > 0 for dot in dots)
    said = trend_words(measure)
    assert any("Change a month" in words and "±" in words for words in said)
    assert any("no steady change is shown" in words for words in said)


def test_a_trend_of_what_was_never_measured_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NotThere, match="K07 has no visit with this measure"):
        trend_png(season(tmp_path), "K07", "foot_turn", "right", tmp_path, DAY)

    assert list(tmp_path.glob("*.png")) == []


def both_ways(folder: Path) -> Squad:
    """Filmed one way, then twice both ways, once of these with a camera that moved."""

    def passes(seed: int, **answers: object) -> list:  # type: ignore[type-arg]
        return [run_of("over", seed + i, to_left=i % 2 == 0, **answers) for i in range(4)]

    visits = [(FIRST, [run_of("over", 1)]), (SECOND, passes(2)), (THIRD, passes(7))]
    visits.append(("2026-06-24", passes(12, camera="panned")))
    return squad_of(folder / "squad", [agreed()], {"K07": visits})


def test_left_minus_right_over_a_season_leaves_as_one_drawn_picture(tmp_path: Path) -> None:
    squad = both_ways(tmp_path)
    readings = readings_of(squad, "K07", DAY, [])

    path = sides_png(squad, "K07", "reach", tmp_path, DAY)

    assert path == tmp_path / f"K07-sides-reach-{TODAY}.png"
    with Image.open(path) as picture:
        assert picture.info == {} and picture.convert("L").getextrema() == (0, 255)
    points = difference_points(readings, "reach")
    assert [point.label for point in points] == [SECOND, THIRD]
    for point in points:
        (visit,) = (each for each in readings if each.visit.dated == point.label)
        right, left = (over_season([visit], "reach", side).points[0] for side in ("right", "left"))
        assert point.value == pytest.approx(left.measured.value - right.measured.value)
        assert point.plus_minus > 0
    said = difference_words(readings, "reach")
    assert "Not measured from both sides: 1 April 2026." in said
    assert any("24 June 2026: can't tell. " in words and "camera" in words for words in said)


def test_left_minus_right_without_both_ways_is_refused_with_what_to_film(tmp_path: Path) -> None:
    with pytest.raises(NotThere, match=r"no visit that shows left against right.*both sides"):
        sides_png(season(tmp_path), "K07", "reach", tmp_path, DAY)

    assert list(tmp_path.glob("*.png")) == []
