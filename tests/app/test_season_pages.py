"""Season, group and side by side on the real window: what shows, and what leaves as picture."""

from pathlib import Path

import numpy as np
import pytest

from tapmark.app.season.group import N_ITEMS
from tapmark.app.season.group_view import Grid, heads
from tapmark.app.season.view import spell_bars
from tapmark.checklist.criteria import load
from tapmark.marks.people import Athlete
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.shapes import Label
from tapmark.services.season import measures_to_show
from tapmark.store.consent import give, refuse
from tapmark.store.season import Spell
from tapmark.store.squad import Squad, make_squad
from tests.app.clipping import clipped
from tests.app.driving import Driver, OpenWindow
from tests.app.seasons import with_season
from tests.store.made import consenting


@pytest.fixture
def season_squad(tmp_path: Path) -> Squad:
    """Three visits of K07, filmed both ways; M12 was never filmed, T14 has no consent now."""
    squad = make_squad(tmp_path / "Season", "Season")
    with_season(squad, "K07")
    squad.save_athlete(consenting("M12"))
    squad.save_athlete(give(Athlete("T14"), "film", "K", "2025-01-01", "2025-12-31"))
    return squad


def open_group(app: Driver) -> None:
    app.keyboard_on(app.view.list)
    app.press("Control-Key-g")
    app.pump(lambda: app.state.around.group.content, "the group")


def open_season(app: Driver) -> None:
    app.keyboard_on(app.view.list)
    app.pick("K07")
    app.press("Control-Key-t")
    app.pump(lambda: app.state.around.season.shown, "the season")


def test_the_season_plots_each_measure_and_types_boxes_back(
    open_app: OpenWindow, season_squad: Squad
) -> None:
    app = open_app(season_squad.folder)
    open_season(app)

    first = app.view.measure.get()
    assert "Change a month" in app.view.drawings.says.cget("text")
    app.keyboard_on(app.view.list)
    app.press("Prior")
    app.press("Next")
    app.keyboard_on(app.view.drawings.plot)
    app.press("Next")
    assert app.view.measure.get() != first
    app.press("l")
    assert "Left minus right" in app.view.drawings.says.cget("text")

    app.press("t")
    app.pump(lambda: app.root.focus_get() is app.view.ticks.field, "the field")
    app.write(app.view.ticks.field, "2.5 e, n")
    assert "2 May: did it, easier" in app.view.ticks.words.cget("text")
    app.press("Return")
    last = season_squad.visits("K07")[-1]
    assert last.ticked == (("", False, ""), ("2026-05-02", True, "easier"))
    assert clipped(app.root) == []


def test_the_plot_leaves_as_a_picture_beside_the_athlete(
    open_app: OpenWindow, season_squad: Squad
) -> None:
    app = open_app(season_squad.folder)
    open_season(app)
    app.keyboard_on(app.view.list)
    app.press("Control-Key-e")

    (picture,) = app.opened
    assert picture.suffix == ".png" and picture.parent == season_squad.athlete_folder("K07")


def test_the_group_page_reads_every_sign_out_and_prints_for_those_who_agreed(
    open_app: OpenWindow, season_squad: Squad
) -> None:
    app = open_app(season_squad.folder)
    open_group(app)
    assert app.view.hint().startswith("K07, Foot ahead of knee:")
    app.press("Down")
    assert app.view.hint() == "M12: no visit to read yet."
    assert clipped(app.root) == []
    app.press("Control-Key-p")
    app.pump(lambda: app.opened, "the page")

    assert app.opened[0].suffix == ".pdf" and app.opened[0].parent == season_squad.folder
    app.press("Escape")
    app.pump(lambda: app.state.page == "squad")


def test_return_goes_from_a_sign_to_its_athlete(open_app: OpenWindow, season_squad: Squad) -> None:
    app = open_app(season_squad.folder)
    open_group(app)
    app.press("Down", "Return")

    assert app.state.page == "squad" and app.state.athlete.code == "M12"


def test_a_squad_without_visits_has_an_empty_season_and_says_so(
    open_app: OpenWindow, season_squad: Squad
) -> None:
    app = open_app(season_squad.folder)
    app.keyboard_on(app.view.list)
    app.pick("M12")
    app.press("Control-Key-t")
    app.pump(lambda: app.state.around.season.shown, "the season")

    assert "Nothing was measured yet" in app.view.drawings.says.cget("text")
    assert not app.view.ticks.frame.winfo_ismapped()


def test_a_visit_is_set_beside_the_one_before_it_and_escape_comes_back(
    open_app: OpenWindow, season_squad: Squad
) -> None:
    app = open_app(season_squad.folder)
    open_season(app)
    app.keyboard_on(app.view.list)
    app.press("b")
    app.pump(lambda: app.state.page == "compare", "side by side")

    assert (app.state.visit.dated, app.state.compare.where[1]) == ("2026-05-01", "2026-03-27")
    app.pump(lambda: app.state.compare.content, "the numbers")
    app.press("Control-Key-e")
    (picture,) = app.opened
    assert picture.name == "K07-compare-2026-05-01.png"
    assert picture.parent == season_squad.athlete_folder("K07")
    app.press("Escape")
    app.pump(lambda: app.state.page == "season")
    app.press("Escape")
    app.pump(lambda: app.state.page == "squad")


def test_a_picture_of_two_athletes_needs_the_yes_of_both(
    open_app: OpenWindow, season_squad: Squad
) -> None:
    with_season(season_squad, "M12", ("2026-05-01",))
    shy = refuse(season_squad.athlete("M12"), "show to group", "K", "2026-05-01")
    season_squad.save_athlete(shy)
    app = open_app(season_squad.folder)
    open_season(app)
    app.keyboard_on(app.view.list)
    app.press("b")
    app.pump(lambda: app.state.compare.content, "the numbers")
    app.choose(app.view.athlete, "M12")
    app.pump(lambda: app.state.compare.content and not app.state.compare.content.is_same, "M12")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Control-Key-e")

    assert app.opened == [] and "M12" in app.state.error
    assert not list(season_squad.folder.rglob("*.png"))
    season_squad.save_athlete(give(shy, "show to group", "K", "2026-05-02", ""))
    app.press("Control-Key-e")
    assert [picture.parent for picture in app.opened] == [season_squad.folder]


def test_tables_are_written_with_decimal_commas_where_chosen(
    open_app: OpenWindow, season_squad: Squad, tmp_path: Path
) -> None:
    app = open_app(season_squad.folder)
    app.keyboard_on(app.view.list)
    app.pick("K07")
    app.press("Control-Shift-Key-E")
    app.pump(lambda: app.state.page == "proposal", "the choice")
    app.press("Control-Key-Return")
    assert app.state.error.startswith("Nothing is chosen")
    app.keyboard_on(app.view.list)
    app.press("space", "space")
    (tmp_path / "out").mkdir()
    app.asked.ready.append(tmp_path / "out")
    app.press("Control-Key-Return")
    app.pump(lambda: app.state.page == "squad", "the table")

    (table,) = (tmp_path / "out").iterdir()
    head, first, *_ = table.read_text("utf-8-sig").splitlines()
    assert head.count(";") > 10 and ";" in first
    assert any("," in cell and cell.replace(",", "").isdecimal() for cell in first.split(";"))


def test_the_list_of_measures_begins_with_what_is_worked_on(
    open_app: OpenWindow, season_squad: Squad
) -> None:
    """Fifty names are a long way: the priority's own come first, then those with a band."""
    app = open_app(season_squad.folder)
    open_season(app)
    shown = app.state.around.season.shown
    last = shown.readings[-1].assessment
    own = {row.result.key for slot in last.slots for row in slot.item.rows}
    graded = {row.result.key for row in last.rows if row.band}
    keys = [key for key, _ in shown.measures]
    ranks = [0 if key in own else 1 if key in graded else 2 for key in keys]
    assert ranks == sorted(ranks) and {1, 2} <= set(ranks)
    assert not last.slots or ranks[0] == 0
    assert sorted(shown.measures) == sorted(measures_to_show(shown.readings)), "none is left out"
    assert app.view.measure.get() == shown.name(0)


@pytest.mark.parametrize("n_visits", [1, pytest.param(5, marks=pytest.mark.long), 12])
def test_the_list_of_visits_is_as_tall_as_they_are_and_scrolls_from_nine_on(
    open_app: OpenWindow, season_squad: Squad, n_visits: int
) -> None:
    days = tuple(f"2025-{month:02}-15" for month in range(1, n_visits + 1))
    with_season(season_squad, "Z9", days)
    app = open_app(season_squad.folder)
    app.keyboard_on(app.view.list)
    app.pick("Z9")
    app.press("Control-Key-t")
    app.pump(lambda: app.state.around.season.shown, "the season")
    app.pump(lambda: app.view.list.get_children(), "the list")
    assert len(app.view.list.get_children()) == n_visits
    assert int(app.view.list.cget("height")) == min(9, max(3, n_visits))


@pytest.mark.parametrize("unit", [13.0, 19.5])
@pytest.mark.parametrize("width", [560.0, 640.0, 760.0, 900.0, 1250.0])
def test_names_over_the_group_stay_inside_their_table(unit: float, width: float) -> None:
    grid, fonts, words = Grid(width, unit, 24.0), Fonts(1.0), load().words
    names = [words.item(n + 1) for n in range(N_ITEMS)]
    free = np.asarray(heads(names, grid, fonts, 0, N_ITEMS - 1).convert("L"))[:, -1]
    assert (free == 255).all(), "a name ends at the edge"


@pytest.mark.parametrize("width", [300.0, 420.0, 800.0])
def test_dates_below_the_bars_stay_inside(width: float) -> None:
    fonts = Fonts(1.0)
    days = ["2026-03-05", "2026-04-09", "2026-05-14"]
    spell = Spell(4, days[0], days[-1], 3)
    shapes, _ = spell_bars([("Rear leg late", spell)], days, days[-1], width, 13.0, fonts.width)
    labels = [s for s in shapes if isinstance(s, Label) and s.anchor == "c"]
    assert len(labels) == 3
    for label in labels:
        half = fonts.width(label.text, label.size, False) / 2
        assert label.point[0] - half >= 0 and label.point[0] + half <= width, label.text
