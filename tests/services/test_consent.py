"""No path goes round consent: services and commands against every state of it and of pain."""

import ast
import json
import zipfile
from collections.abc import Callable, Iterator
from datetime import date, datetime
from pathlib import Path

import pytest

from tapmark import cli
from tapmark.errors import NoConsent, StoreError
from tapmark.marks.people import CONSENT_WORDS, CONSENTS
from tapmark.marks.points import SIDE_EVENTS
from tapmark.report.pages import film
from tapmark.services import consent
from tapmark.services.changes import compare_visits
from tapmark.services.exports import (
    marks_csv,
    physio_note,
    season_csv,
    season_table,
    taps_csv,
)
from tapmark.services.film import write_film
from tapmark.services.group import group_of
from tapmark.services.measuring import as_csv, as_json, as_text, measure_paths, written
from tapmark.services.pages import write_sheet
from tapmark.services.pictures import (
    RunPlace,
    compare,
    compare_out,
    sides_png,
    step_png,
    still_png,
    trend_png,
    two_stills_png,
)
from tapmark.services.squads import back_up
from tapmark.store.archive import check_backup
from tapmark.store.consent import STATES, WAYS_OUT
from tapmark.store.pictures import keep_stills
from tapmark.store.squad import Squad
from tests.index import parsed, walked
from tests.services.made import (
    FIRST,
    SECOND,
    TODAY,
    agreed,
    contents,
    jpeg,
    place,
    run_of,
    squad_of,
    with_answer,
)

pytestmark = pytest.mark.usefixtures("blank_pages")

DAY = date.fromisoformat(TODAY)
PACKAGE = Path(__file__).parents[2] / "tapmark"
CLOSED = [state for state in STATES if state != "given"]
EVENT = "touchdown"


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A squad of two with kept stills, made once; tests change consent and put it back."""
    folder = tmp_path_factory.mktemp("gate") / "squad"
    visits = {
        code: [
            (FIRST, [run_of("over", i)]),
            (SECOND, [run_of("over", 5 + 4 * i + j, to_left=j > 1) for j in range(4)]),
        ]
        for i, code in enumerate(("K07", "M12"))
    }
    squad = squad_of(folder, [agreed(), agreed("M12")], visits)
    for code in ("K07", "M12"):
        for dated in (FIRST, SECOND):
            stills = {(0, event, 0): jpeg((1280, 720)) for event in SIDE_EVENTS}
            keep_stills(squad, code, dated, "run-1", stills, TODAY)
    return folder


@pytest.fixture(autouse=True)
def short_films(monkeypatch: pytest.MonkeyPatch) -> None:
    """How long a film is counts elsewhere."""
    monkeypatch.setattr(film, "HELD", 3)
    monkeypatch.setattr(film, "SLOWED", 0.5)


@pytest.fixture
def squad(built: Path) -> Iterator[Squad]:
    before = contents(built)
    yield Squad(built)
    put_back(built, before)


@pytest.mark.parametrize("state", CLOSED)
def test_measuring_a_squad_goes_on_past_an_athlete_without_consent_and_says_so(
    state: str, squad: Squad
) -> None:
    squad.save_athlete(with_answer(agreed(), "film", state))
    said: list[str] = []

    out = [each.place.code for each in measure_paths([squad.folder], DAY, said.append)]

    assert out == ["M12"] * 5
    assert len(said) == 1 and said[0].startswith("K07: ")


def test_a_squad_in_which_nobody_agreed_gives_no_empty_table_as_a_result(squad: Squad) -> None:
    for code in ("K07", "M12"):
        squad.save_athlete(with_answer(agreed(code), "film", "refused"))
    said: list[str] = []

    with pytest.raises(NoConsent, match="Nobody"):
        list(measure_paths([squad.folder], DAY, said.append))

    assert [words[:4] for words in said] == ["K07:", "M12:"]


def test_measuring_a_squad_goes_on_past_files_that_cannot_be_read_and_says_so(
    squad: Squad,
) -> None:
    """A damaged athlete.json and a damaged run: one JSON document all the same."""
    (squad.athlete_folder("K07") / "athlete.json").write_text("{")
    name = squad.run_names("M12", FIRST)[0]
    squad.run_path("M12", FIRST, name).write_text("{")
    said: list[str] = []

    lines = written(measure_paths([squad.folder], DAY, said.append), True, False, False)
    rows = json.loads("\n".join(lines))

    assert {each["code"] for each in rows} == {"M12"} and len(rows) == 4
    assert len(said) == 2 and "K07/athlete.json" in said[0] and f"{name}.json" in said[1]


def test_a_squad_in_which_nobody_can_be_read_gives_no_empty_table_as_a_result(
    squad: Squad,
) -> None:
    for code in ("K07", "M12"):
        (squad.athlete_folder(code) / "athlete.json").write_text("{")

    with pytest.raises(StoreError, match="No athlete's file"):
        list(measure_paths([squad.folder], DAY, lambda words: None))


def put_back(folder: Path, before: dict[str, bytes]) -> None:
    now = contents(folder)
    for way in now.keys() - before.keys():
        (folder / way).unlink()
    for way, data in before.items():
        if now.get(way) != data:
            (folder / way).parent.mkdir(exist_ok=True)
            (folder / way).write_bytes(data)


def runs_at(squad: Squad) -> tuple[RunPlace, RunPlace, RunPlace]:
    """K07 first and second visit, and M12."""
    return (
        RunPlace(place(squad), "run-1"),
        RunPlace(place(squad, dated=SECOND), "run-1"),
        RunPlace(place(squad, "M12"), "run-1"),
    )


def told(squad: Squad, write: Callable[..., Iterator[str]]) -> list[str]:
    return list(write(measure_paths([place(squad).folder], DAY, refuse_talk), False))


def refuse_talk(words: str) -> None:
    raise AssertionError(f"a visit that is named is not left out: {words}")


def compare_of(squad: Squad, out: Path, other: int) -> None:
    places = runs_at(squad)
    compare_out(compare(places[0], places[other], DAY), places[0], places[other], out, b"png", DAY)


def both_stills(squad: Squad, out: Path, other: int) -> None:
    places = runs_at(squad)
    two_stills_png(places[0], places[other], EVENT, out, DAY)


FILM = {"film"}
OUT: dict[str, tuple[set[str], Callable[[Squad, Path], object]]] = {
    "athlete's sheet": (FILM, lambda s, out: write_sheet(place(s), "a4", "athlete", DAY)),
    "page with a photo": (
        FILM | {"print photo", "keep stills"},
        lambda s, out: write_sheet(place(s), "a4", "photo", DAY),
    ),
    "coach's copy": (FILM, lambda s, out: write_sheet(place(s), "a4", "coach", DAY)),
    "season table": (FILM, lambda s, out: season_csv(s, ["K07"], out, DAY)),
    "season table of all": (FILM, lambda s, out: season_csv(s, ["M12", "K07"], out, DAY)),
    "season bytes": (FILM, lambda s, out: season_table(s, ["K07"], DAY)),
    "raw taps": (FILM, lambda s, out: taps_csv(s, ["K07"], out, DAY)),
    "own lines and paths": (FILM, lambda s, out: marks_csv(s, ["K07"], out, DAY)),
    "measures as text": (FILM, lambda s, out: told(s, as_text)),
    "measures as JSON": (FILM, lambda s, out: told(s, as_json)),
    "measures as CSV": (FILM, lambda s, out: told(s, as_csv)),
    "compared visits": (
        FILM,
        lambda s, out: list(compare_visits(place(s).folder, place(s, dated=SECOND).folder, DAY)),
    ),
    "note for a physio": (
        FILM | {"share with physio"},
        lambda s, out: physio_note(s, "K07", FIRST, out, DAY),
    ),
    "film": (FILM, lambda s, out: write_film((place(s),), out, DAY)),
    "step line": (FILM, lambda s, out: step_png(place(s), out, DAY)),
    "trend": (FILM, lambda s, out: trend_png(s, "K07", "reach", "right", out, DAY)),
    "left against right": (FILM, lambda s, out: sides_png(s, "K07", "reach", out, DAY)),
    "still": (
        FILM | {"print photo"},
        lambda s, out: still_png(runs_at(s)[0], EVENT, out, DAY),
    ),
    "two dates": (FILM, lambda s, out: compare_of(s, out, 1)),
    "two people": (FILM | {"show to group"}, lambda s, out: compare_of(s, out, 2)),
    "stills of two dates": (FILM | {"print photo"}, lambda s, out: both_stills(s, out, 1)),
    "stills of two people": (
        FILM | {"print photo", "show to group"},
        lambda s, out: both_stills(s, out, 2),
    ),
}


SHUT = [(way, use) for way, (needs, _) in OUT.items() for use in CONSENTS if use in needs]


@pytest.mark.parametrize(("way", "use"), SHUT)
def test_every_way_out_is_closed_by_each_consent_that_it_needs(
    way: str, use: str, squad: Squad, tmp_path: Path
) -> None:
    for state in CLOSED:
        squad.save_athlete(with_answer(agreed(), use, state))
        before = contents(squad.folder)

        with pytest.raises(NoConsent, match=f"K07: .*“{CONSENT_WORDS[use]}”"):
            OUT[way][1](squad, tmp_path)

        assert contents(squad.folder) == before, state
        assert list(tmp_path.iterdir()) == [], state


@pytest.mark.parametrize("way", OUT)
def test_no_way_out_is_closed_by_a_consent_that_it_does_not_need(
    way: str, squad: Squad, tmp_path: Path
) -> None:
    """All consents that it does not need are refused together: none of them may close it."""
    athlete = agreed()
    for use in CONSENTS:
        if use not in OUT[way][0]:
            athlete = with_answer(athlete, use, "refused")
    squad.save_athlete(athlete)
    before = contents(squad.folder)

    done = OUT[way][1](squad, tmp_path)

    assert done or contents(squad.folder) != before or list(tmp_path.iterdir())


@pytest.mark.parametrize("way", OUT)
def test_consent_taken_back_while_a_window_is_open_holds_at_once(
    way: str, squad: Squad, tmp_path: Path
) -> None:
    """The squad object has the athlete in mind as read before; the file says no since."""
    squad.athlete("K07")
    other_window = Squad(squad.folder)
    other_window.athlete("K07")
    other_window.save_athlete(with_answer(agreed(), "film", "withdrawn"))

    with pytest.raises(NoConsent):
        OUT[way][1](squad, tmp_path)


@pytest.mark.parametrize("state", CLOSED)
@pytest.mark.parametrize("use", ["film", "keep stills"])
def test_no_picture_is_in_a_back_up_without_the_consent_to_keep_it(
    use: str, state: str, squad: Squad, tmp_path: Path
) -> None:
    squad.save_athlete(with_answer(agreed(), use, state))

    list(back_up(squad.folder, tmp_path / "b.zip", DAY, lambda words: None))

    ways = zipfile.ZipFile(tmp_path / "b.zip").namelist()
    assert not [way for way in ways if "/K07/" in way and way.endswith(".jpg")]
    assert [way for way in ways if "/M12/" in way and way.endswith(".jpg")]
    assert check_backup(tmp_path / "b.zip").n_files > 0


@pytest.mark.parametrize("state", CLOSED)
def test_nobody_is_on_a_group_sheet_without_consent_to_be_filmed(state: str, squad: Squad) -> None:
    squad.save_athlete(with_answer(agreed(), "film", state))

    content = group_of(squad, DAY)

    assert [line.code for line in content.lines] == ["M12"]
    assert content.left_out[0].startswith("K07: ")


@pytest.mark.parametrize("state", CLOSED)
def test_nothing_of_anybody_is_brought_in_without_consent(state: str, squad: Squad) -> None:
    squad.save_athlete(with_answer(agreed(), "film", state))

    with pytest.raises(NoConsent, match="No clip is brought in"):
        consent.let_in(squad, "K07", DAY)
    assert consent.let_in(squad, "M12", DAY).code == "M12"


@pytest.mark.parametrize("state", CLOSED)
def test_no_still_is_kept_of_somebody_whose_consent_ended_meanwhile(
    state: str, squad: Squad
) -> None:
    squad.save_athlete(with_answer(agreed(), "film", state))
    before = contents(squad.folder)

    with pytest.raises(NoConsent):
        consent.keep_in(squad, ("K07", FIRST, "run-1"), {(0, "toe-off", 0): jpeg((64, 36))}, DAY)

    assert contents(squad.folder) == before


def test_nothing_of_an_archived_athlete_is_brought_in(squad: Squad) -> None:
    squad.save_athlete(agreed(is_archived=True))

    with pytest.raises(NoConsent, match="archived"):
        consent.let_in(squad, "K07", DAY)


def test_every_kind_that_may_leave_has_an_errand_here() -> None:
    needed = [set(uses) for uses, _ in WAYS_OUT.values()] + [{"film", "print photo"}]
    tried = [needs for needs, _ in OUT.values()] + [{"film", "keep stills"}]

    assert all(uses in tried for uses in needed)


ASKS = {"write_out", "write_pair_out", "let_out", "who_goes_out", "back_up"}
TRIED_HERE = {
    "compare_out",
    "compare_visits",
    "season_csv",
    "season_table",
    "taps_csv",
    "marks_csv",
    "physio_note",
    "group_of",
    "step_png",
    "write_film",
    "make_film",  # what write_film calls
    "give_out",  # likewise
    "still_png",
    "two_stills_png",
    "trend_png",
    "sides_png",
    "write_sheet",
    "print_sheet",  # what write_sheet calls
    "content_of",  # likewise
    "back_up",
}
TRIED_ELSEWHERE = {
    "write_group": "test_group",
    "write_filming_card": "test_naming; nobody is on it",
    "write_shot_log": "test_naming",
    "photo_for": "test_photo_sheet",
    "make_demo": "test_cli; drawn runners only",
}


def asks_the_gate(path: Path) -> Iterator[str]:
    """Yield the public functions of a service's module that ask the gate, by calls within it."""
    calls = {
        node.name: {
            ast.unparse(each.func).split(".")[-1]
            for each in ast.walk(node)
            if isinstance(each, ast.Call)
        }
        for node in parsed(path).body
        if isinstance(node, ast.FunctionDef)
    }
    asking = {name for name, called in calls.items() if called & ASKS}
    while more := {name for name, called in calls.items() if called & asking} - asking:
        asking |= more
    yield from (name for name in asking if not name.startswith("_"))


def test_every_errand_that_lets_something_out_is_tried_against_every_state() -> None:
    """Whoever adds a way out has to add it above, or name the test that tries it."""
    modules = [path for path in (PACKAGE / "services").glob("*.py") if path.name != "consent.py"]
    found = {name for path in modules for name in asks_the_gate(path)}
    batches = {"write_groups", "write_sheets", "measure_paths"}  # loops over those above

    assert found - batches == TRIED_HERE | TRIED_ELSEWHERE.keys()


@pytest.mark.parametrize(("day", "is_there"), [("2026-07-07", True), ("2026-07-08", False)])
def test_stills_without_the_consent_to_keep_them_are_in_no_back_up_and_gone_in_a_week(
    day: str, is_there: bool, squad: Squad, tmp_path: Path
) -> None:
    """Seven days from TODAY, kept or not, whoever opens the squad: here the back-up command."""
    squad.save_athlete(with_answer(agreed(), "keep stills", "refused"))

    list(back_up(squad.folder, tmp_path / "b.zip", date.fromisoformat(day), lambda words: None))

    assert any(squad.stills_folder("K07", FIRST, "run-1").glob("*.jpg")) == is_there
    ways = zipfile.ZipFile(tmp_path / "b.zip").namelist()
    assert not [way for way in ways if "/K07/" in way and way.endswith(".jpg")]


@pytest.mark.parametrize("use", CONSENTS)
def test_an_expired_consent_is_asked_again_in_words(use: str, squad: Squad, tmp_path: Path) -> None:
    squad.save_athlete(with_answer(agreed(), use, "expired"))
    way = (
        next(way for way, (needs, _) in OUT.items() if use in needs) if use != "keep stills" else ""
    )

    if way:
        with pytest.raises(
            NoConsent, match=r"ran out on 30 June 2026\. Ask again and enter the new"
        ):
            OUT[way][1](squad, tmp_path)
    else:
        list(back_up(squad.folder, tmp_path / "b.zip", DAY, lambda words: None))
        ways = zipfile.ZipFile(tmp_path / "b.zip").namelist()
        assert not [way for way in ways if "/K07/" in way and way.endswith(".jpg")]


COMMANDS_THAT_TELL_OF_PEOPLE = {"measure", "sheet", "film", "compare", "squad", "backup"}
OTHER_COMMANDS = {"demo", "frames", "check", "restore", "delete", "doctor"}


def test_every_command_is_known_to_tell_of_people_or_not() -> None:
    assert {c.name for c in cli.COMMANDS} == COMMANDS_THAT_TELL_OF_PEOPLE | OTHER_COMMANDS


def words_of(squad: Squad, out: Path) -> dict[str, list[str]]:
    first, second = str(place(squad).folder), str(place(squad, dated=SECOND).folder)
    run = str(squad.run_path("K07", FIRST, "run-1"))
    return {
        "measure a run": ["measure", run],
        "measure a visit": ["measure", first, "--json"],
        "measure a squad": ["measure", str(squad.folder), "--csv", "--comma"],
        "sheet": ["sheet", first],
        "coach's copy": ["sheet", first, "--copy", "coach"],
        "several sheets": ["sheet", str(place(squad, "M12").folder), first],
        "film": ["film", first],
        "film of two": ["film", str(place(squad, "M12").folder), "--beside", first],
        "compare": ["compare", first, second],
    }


@pytest.mark.parametrize("command", words_of(Squad(Path("s")), Path("o")))
def test_no_command_tells_of_somebody_who_did_not_agree(
    command: str,
    squad: Squad,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    freeze(monkeypatch)
    for state in CLOSED:
        squad.save_athlete(with_answer(agreed(), "film", state))
        before = contents(squad.athlete_folder("K07"))

        code = cli.main(words_of(squad, tmp_path)[command])

        said = capsys.readouterr()
        assert code == (0 if command == "measure a squad" else 1), state  # the others are measured
        assert "K07: " in said.err and "“film”" in said.err, state
        assert "reach" not in said.out.lower() or "K07" not in said.out, state
        assert contents(squad.athlete_folder("K07")) == before, state


def freeze(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the command line believe that it is the day of these tests."""

    class Day(date):
        @classmethod
        def today(cls) -> "Day":
            return cls.fromisoformat(TODAY)

    class Now(datetime):
        @classmethod
        def now(cls, tz: object = None) -> "Now":  # type: ignore[override]
            return cls.fromisoformat(f"{TODAY}T21:00:00")

    monkeypatch.setattr(cli, "date", Day)
    monkeypatch.setattr(cli, "datetime", Now)


ONLY_HERE = {
    "tapmark.store.consent": {"may_import", "may_write", "who_may", "may_show_photo"},
    "tapmark.store.pictures": {"keep_stills"},
    "tapmark.store.merge": {"merge", "plan_merge"},
    "tapmark.store.files": {"write_bytes", "write_json", "write_together"},
}
HOMES = {
    "services/consent.py": {"write_bytes", "write_together", "keep_stills"},
    "services/copies.py": {"may_import"},  # for athletes of two squads at once
    "services/demo.py": {"write_bytes", "keep_stills"},  # copies the drawn samples
    "services/practising.py": {"write_bytes"},  # the number of a drawn runner
    "app/squad/actions.py": {"write_bytes"},  # the receipt of a deletion
    "app/shell/run_lock.py": {"write_json"},  # marks that the squad's own disk has refused
}


def test_nothing_is_written_or_asked_but_at_the_gate() -> None:
    paths = [*(PACKAGE / "services").glob("*.py"), *(PACKAGE / "app").rglob("*.py")]
    assert len(paths) > 50 and set(HOMES) <= {p.relative_to(PACKAGE).as_posix() for p in paths}
    for path in (*paths, PACKAGE / "cli.py"):
        check_writes(path)


def check_writes(path: Path) -> None:
    """Fail when a module writes or asks for consent by itself."""
    inside, nodes = path.relative_to(PACKAGE).as_posix(), walked(path)
    found = {
        alias.name
        for node in nodes
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
        if alias.name in ONLY_HERE.get(node.module or "", ())
    }

    assert found <= HOMES.get(inside, set()), f"{inside} should ask services.consent"
    called = [node.func for node in nodes if isinstance(node, ast.Call)]
    ways = {each.attr for each in called if isinstance(each, ast.Attribute)}
    assert not ways & {"write_text", "write_bytes"}, inside
    assert "open" not in {each.id for each in called if isinstance(each, ast.Name)}, inside
