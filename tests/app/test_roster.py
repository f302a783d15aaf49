"""The list of athletes: who is due, which evening, who cannot be filmed, who is archived."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from tapmark.app.shell.rates import answer
from tapmark.app.squad.forms import consent_fields
from tapmark.app.state.pages import SquadPage
from tapmark.app.state.roster_lines import ARCHIVED, LATER, NOT_NOW, NOW, Row, consent_words, rows
from tapmark.marks.people import Athlete, Consent
from tapmark.store.consent import consent_state
from tapmark.store.rota import RotaLine
from tapmark.store.squad import open_squad
from tests.app.driving import OpenWindow

TODAY = date(2026, 5, 14)  # a Thursday


def athlete(code: str, **changes: object) -> Athlete:
    film = Consent("film", True, "K. M.", "2026-01-10", "2026-12-31")
    return replace(Athlete(code, consents=(film,)), **changes)  # type: ignore[arg-type]


def line(who: Athlete, weeks_ago: float | None) -> RotaLine:
    last = "" if weeks_ago is None else (TODAY - timedelta(days=7 * weeks_ago)).isoformat()
    consent = consent_state(who, "film", TODAY.isoformat())
    return RotaLine(who.code, who.group, last, None, weeks_ago is None or weeks_ago > 5, consent)


def listed(*pairs: tuple[Athlete, float | None], per_evening: int = 8) -> tuple[Row, ...]:
    lines = [line(who, weeks) for who, weeks in pairs if not who.is_archived]
    lines.sort(key=lambda each: (each.last, each.code))
    people = [who for who, _ in pairs]
    return rows(people, lines, lambda code: ("Sitting", "Hips high"), TODAY, 5, per_evening)


def test_who_is_over_five_weeks_is_due_and_who_was_never_filmed_too() -> None:
    found = listed((athlete("K01"), 6), (athlete("K02"), 4), (athlete("K03"), None))

    assert by_group(found) == {NOW: ["K03", "K01"], LATER: ["K02"]}
    assert [row.thing for row in found] == ["first visit", "Sitting", "Sitting"]


@pytest.mark.parametrize(
    ("weeks", "said"),
    [(4.86, "from Saturday"), (5, "from Friday"), (2, "week 23"), (4, "week 21")],
)
def test_later_says_from_when(weeks: float, said: str) -> None:
    (row,) = listed((athlete("K01"), weeks))

    assert said == row.again


def test_pain_at_the_last_visit_comes_before_the_next_one_until_it_is_cleared(
    open_app: OpenWindow, marked_squad: Callable[[], Path]
) -> None:
    app = open_app(marked_squad())
    app.open_last_run()
    for pain, clearance, group in (
        ("yes", "", NOT_NOW),
        ("yes", "cleared", LATER),
        ("no", "", LATER),
        ("not answered", "", LATER),
    ):
        app.go("film")
        answer(app.state, "pain", pain=pain)
        squad = app.state.the_squad
        squad.save_athlete(replace(squad.athlete("P02"), clearance=clearance))
        app.press("F2")
        app.pump(lambda: app.state.page == "squad", "Squad")
        (row,) = app.state.around.squad.rows
        assert row.group == group, (pain, clearance)
        if group == NOT_NOW:
            assert (row.thing, row.about) == ("Pain on 14 May", "no drills until cleared")
            assert row.evening == ""


def test_codes_and_events_are_whole_where_there_is_room(
    open_app: OpenWindow, marked_squad: Callable[[], Path]
) -> None:
    folder = marked_squad()
    squad = open_squad(folder)
    squad.save_athlete(athlete("T00-SP-MID", group="400 and 800 m hurdles"))

    app = open_app(folder)

    canvas = app.view.roster.canvas
    found = canvas.find_withtag("words T00-SP-MID")
    written = {canvas.itemcget(item, "text") for item in found}
    assert {"T00-SP-MID", "400 and 800 m hurdles"} <= written


@pytest.mark.parametrize("size", ["1366x768", "1024x600"])
def test_how_long_ago_somebody_was_filmed_is_never_cut(
    size: str, open_app: OpenWindow, marked_squad: Callable[[], Path]
) -> None:
    """28 weeks after the sample was filmed its list said "28 weeks a…"."""
    app = open_app(marked_squad(), size=size)
    roster = app.view.roster
    when = {"T01": ("28 weeks ago", NOW), "T02": ("104 weeks ago", NOW), "T03": ("week 23", LATER)}
    rows = [
        Row(group, code, "sprint", "14 May 2024", w, "", "") for code, (w, group) in when.items()
    ]

    roster.fill(rows, "")

    items = roster.canvas.find_all()
    texts = {roster.canvas.itemcget(i, "text") for i in items if roster.canvas.type(i) == "text"}
    assert {*(words for words, _ in when.values()), "14 May 2024"} <= texts


def by_group(found: tuple[Row, ...]) -> dict[str, list[str]]:
    groups: dict[str, list[str]] = {}
    for row in found:
        groups.setdefault(row.group, []).append(row.code)
    return groups


def test_fourteen_due_names_make_two_evenings_of_seven() -> None:
    found = listed(*((athlete(f"K{i:02}"), 6) for i in range(14)))

    assert [row.evening for row in found] == ["evening 1/2"] * 7 + ["evening 2/2"] * 7


def test_one_evening_is_not_numbered() -> None:
    assert {""} == {row.evening for row in listed((athlete("K01"), 6), (athlete("K02"), 7))}


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"consents": ()}, "consent missing"),
        ({"consents": (Consent("film", False, "K", "2026-01-10"),)}, "consent refused"),
        (
            {"consents": (Consent("film", True, "K", "2026-01-10", "2026-05-01"),)},
            "consent ended 1 May",
        ),
        (
            {"consents": (Consent("film", True, "K", "2026-01-10", "", "2026-05-10"),)},
            "consent withdrawn",
        ),
        ({"consents": (Consent("film", True, "K", "2027-01-10"),)}, "consent starts later"),
        ({"clearance": "under treatment"}, "under treatment"),
    ],
)
def test_who_cannot_be_filmed_now_says_why_and_takes_no_evening(
    changes: dict[str, object], why: str
) -> None:
    found = listed((athlete("K01", **changes), 9), (athlete("K02"), 6))

    assert by_group(found) == {NOW: ["K02"], NOT_NOW: ["K01"]}
    assert why == found[1].thing


def test_archived_ones_come_last_and_only_on_demand() -> None:
    side = SquadPage(rows=listed((athlete("K01", is_archived=True), 9), (athlete("K02"), 2)))

    assert [row.code for row in side.found("")] == ["K02"]
    side.with_archived = True
    assert [(r.code, r.group) for r in side.found("")] == [("K02", LATER), ("K01", ARCHIVED)]


def test_somebody_is_found_by_code_or_event_in_any_case() -> None:
    people = athlete("K01", group="60 hurdles"), athlete("M02", group="800")
    side = SquadPage(rows=listed(*((who, 2) for who in people)))

    assert [row.code for row in side.found(" m0")] == ["M02"]
    assert [row.code for row in side.found("HURD")] == ["K01"]
    assert list(side.found("zz")) == []


@pytest.mark.parametrize(
    ("born", "whom"),
    [
        (2014, "child and parent"),
        (2012, "athlete and parent"),
        (2008, "athlete and parent"),  # 18 this year, perhaps not yet
        (2007, "athlete"),
        (1990, "athlete"),
        (None, "athlete; under 18 a parent too"),
    ],
)
def test_who_is_asked_for_consent_goes_by_age(born: int | None, whom: str) -> None:
    """Adults answer for themselves: in the list and in the form."""
    new = Athlete("K01", born)

    assert consent_words(new, TODAY) == f"ask {whom}"
    (signed,) = (f for f in consent_fields(new, TODAY.isoformat()) if f.key == "by")
    assert signed.note == f"initials: {whom}"
