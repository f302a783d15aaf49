"""Work belongs to somebody: whatever comes back late changes nothing of what is open now."""

import ast
import shutil
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from operator import attrgetter
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.jobs import PARTS
from tapmark.app.mark import taps_actions
from tapmark.app.mark.taps_actions import finish_second_look
from tapmark.app.review import actions as review_actions
from tapmark.app.review import page_actions
from tapmark.app.review.page_actions import make_sheet
from tapmark.app.season import actions as season_actions
from tapmark.app.season import group
from tapmark.app.shell import comparing, runs, stepping
from tapmark.app.shell.proposals import do_it
from tapmark.app.shell.runs import open_run
from tapmark.app.shell.squads import choose_athlete, use_squad
from tapmark.app.squad import copies, start
from tapmark.app.state import frames_wanted
from tapmark.marks.people import Slot
from tapmark.store.choices import OwnError
from tapmark.store.squad import open_squad
from tests.app.driving import SAMPLES, Driver, OpenWindow
from tests.app.made import put_marked_run

APP = Path(__file__).resolve().parents[2] / "tapmark" / "app"
DAY = "2026-05-14"


def jobs_of_the_window() -> Iterator[tuple[str, str, str]]:
    """Yield (module, channel, by) of every job that is started anywhere in the room."""
    for path in sorted(APP.rglob("*.py")):
        module = path.relative_to(APP).with_suffix("").as_posix()
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute):
                continue
            usual = "squad" if node.func.attr == "work_on" else ""  # what Context.work_on takes
            owner = ast.unparse(node.func.value)
            is_job = node.func.attr == "run" and owner.endswith(("jobs", "painter"))
            by = [each.value for each in node.keywords if each.arg == "by"]
            if not (is_job or usual) or (by and isinstance(by[0], ast.Name)):
                continue  # work_on itself passes on what it is told
            channel = ast.unparse(node.args[0]).strip("'\"")
            yield module, channel, by[0].value if by else usual  # type: ignore[attr-defined]


FILED_BY_THEMSELVES = {
    ("mark/taps_actions", "card"),
    ("review/page_actions", "sheet"),
    ("squad/copies", "copy"),
    ("squad/start", "start"),
    ("state/frames_shown", "full picture"),
}
"""Jobs whose results count whatever is open: the tests below show where each of them goes."""


def test_every_job_says_for_whom_it_is() -> None:
    found = list(jobs_of_the_window())
    assert len(found) >= 24
    assert {by for _, _, by in found} <= set(PARTS)
    filed = {(module, channel) for module, channel, by in found if by == "window"}
    assert filed == FILED_BY_THEMSELVES


@pytest.fixture
def two_athletes(squad_folder: Path, truth: dict[str, Any]) -> Path:
    """A squad in which P02 and P03 both have a marked run of the same day."""
    put_marked_run(squad_folder, truth)
    squad = open_squad(squad_folder)
    other = replace(squad.athlete("P02"), code="P03")
    squad.save_athlete(other)
    run = squad.load_run("P02", DAY, "run-1")
    squad.new_visit("P03", DAY)
    squad.new_run("P03", DAY, run)
    return squad_folder


@pytest.fixture
def other_squad(tmp_path: Path, two_athletes: Path) -> Path:
    """Another squad with nobody in it."""
    from tapmark.store.squad import make_squad

    return make_squad(tmp_path / "Friday group", "Friday group").folder


class Held:
    """Keeps the worker of a window busy until it is let go."""

    def __init__(self, app: Driver) -> None:
        self.app, self.gate = app, threading.Event()
        app.context.jobs.run(
            "held up", lambda task: self.gate.wait(20), lambda value: None, by="window"
        )

    def let_go(self) -> None:
        """Let everything that waits be done, and come back."""
        self.gate.set()
        self.app.pump(lambda: self.app.context.jobs.is_idle, "the jobs")


@pytest.fixture
def app(open_app: OpenWindow, two_athletes: Path, monkeypatch: pytest.MonkeyPatch) -> Driver:
    """The window on P02's run; stills are kept where a test asks for it, not by the page."""
    monkeypatch.setattr("tapmark.app.review.view.keep", lambda context: None)
    driver = open_app(two_athletes)
    to_p02(driver)
    return driver


def to_p02(app: Driver) -> None:
    open_run(app.context, "P02", DAY, "run-1")
    app.wait_for_clip()
    app.pump(lambda: app.state.review.reading and app.context.jobs.is_idle, "the reading")


def to_p03(app: Driver) -> None:
    open_run(app.context, "P03", DAY, "run-1")
    app.pump()


def test_a_sheet_made_for_one_is_not_handed_over_under_another(
    app: Driver, two_athletes: Path
) -> None:
    held = Held(app)
    make_sheet(app.context)
    to_p03(app)
    app.context.go("sheet")
    held.let_go()
    assert app.state.sheet.written is None
    for name in ("print sheet", "show sheet"):
        assert app.context.why_disabled(name)
        app.context.perform(name)
    assert app.opened == []
    squad = open_squad(two_athletes)
    assert squad.visit("P02", DAY).sheet_number == 1, "noted where it belongs"
    assert squad.visit("P03", DAY).sheet_number == 0
    assert app.state.visit.sheet_number == 0


def test_print_and_open_are_offered_for_the_page_that_is_shown_only(app: Driver) -> None:
    app.context.go("sheet")
    app.pump(lambda: app.state.sheet.pages, "the page")
    make_sheet(app.context)
    app.pump(lambda: app.state.sheet.written, "the sheet")
    assert not app.context.why_disabled("print sheet")
    app.choose(app.view.copy, "for the coach")
    assert app.context.why_disabled("print sheet"), "the coach's copy is not written"
    app.choose(app.view.copy, "for the athlete")
    assert not app.context.why_disabled("print sheet")
    app.state.record("cue", visit=replace(app.state.visit, reason="another"))
    assert app.context.why_disabled("print sheet"), "the page was changed since"
    choose_athlete(app.context, "P03")
    assert app.context.why_disabled("print sheet")
    assert app.opened == []


def test_an_edit_made_while_the_sheet_is_written_stays(app: Driver, two_athletes: Path) -> None:
    held = Held(app)
    make_sheet(app.context)
    slots = (Slot(4, "Push the ground away", DAY),)
    app.state.record("cue", visit=replace(app.state.visit, slots=slots, reason="meanwhile"))
    held.let_go()
    app.context.saver.flush()
    kept = open_squad(two_athletes).visit("P02", DAY)
    assert (kept.slots, kept.reason, kept.sheet_number) == (slots, "meanwhile", 1)
    assert app.state.visit == kept
    assert app.context.why_disabled("print sheet"), "what was written is not what is shown"


def test_a_back_up_is_noted_with_the_squad_it_is_of(
    app: Driver, two_athletes: Path, other_squad: Path, tmp_path: Path
) -> None:
    held = Held(app)
    app.asked.ready = [tmp_path / "stick.zip"]
    app.context.go("squad")
    app.context.perform("back up")
    use_squad(app.context, other_squad)
    held.let_go()
    assert (tmp_path / "stick.zip").is_file()
    assert open_squad(two_athletes).choices.backed_up == DAY
    assert open_squad(other_squad).choices.backed_up == ""
    assert app.state.squad.choices.backed_up == ""


def test_a_tap_card_is_kept_with_the_squad_it_comes_from(
    app: Driver, other_squad: Path, two_athletes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    row = OwnError("K. M.", "hip", 1.5, 9, DAY)
    monkeypatch.setattr(taps_actions, "own_errors", lambda folder, marker, today: (row,))
    held = Held(app)
    app.state.record("marker", replace(app.state.run, marked_by="K. M."))
    finish_second_look(app.context)
    use_squad(app.context, other_squad)
    held.let_go()
    assert open_squad(two_athletes).choices.tap_card == (row,)
    assert open_squad(other_squad).choices.tap_card == ()


def test_the_drawn_sample_of_the_start_page_says_nothing_of_a_squad_opened_meanwhile(
    open_app: OpenWindow, two_athletes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate, figures, made = threading.Event(), start.figures, list[object]()

    def held_up(*drawn: Any) -> Any:
        gate.wait(20)
        made.append(figures(*drawn))
        return made[0]

    monkeypatch.setattr(start, "figures", held_up)
    app = open_app()
    use_squad(app.context, two_athletes)
    app.pump()
    before, files = seen(app), _files(two_athletes)
    assert not made
    gate.set()
    app.pump(lambda: made and app.context.painter.is_idle, "the drawn sample")
    assert seen(app) == before and _files(two_athletes) == files


def started(app: Driver, tmp_path: Path) -> dict[str, Callable[[], object]]:
    """Return channel -> a way to ask for each kind of work that is of one run, athlete or squad."""
    context, state = app.context, app.state
    clip = SAMPLES / "P02" / "clip.mp4"

    def other_run() -> None:
        comparing.choose_other(context, ("P03", DAY, "run-1"))

    def again() -> None:
        state.review.read_of = None
        review_actions.read_again(context)

    def checks() -> None:
        state.review.checks, state.review.checked = (), None
        stepping.check_again(context)
        stepping._check(context, state.run)  # noqa: SLF001 - without waiting for the pause

    def stills() -> None:
        state.marking.kept, state.marking.left_out = {}, set()
        review_actions.keep(context)

    def export() -> None:
        copies.ask_export(context)
        state.around.proposal.choices = {
            line.key: "decimal points" for line in state.around.proposal.proposal.lines
        }
        app.asked.ready = [tmp_path]
        do_it(context)

    def with_folder(action: Callable[[Any], None]) -> Callable[[], None]:
        def asked() -> None:
            app.asked.ready = [tmp_path / "copy"]
            action(context)

        return asked

    return {
        "reading": again,
        "checks": checks,
        "page": lambda: page_actions.preview(context),
        "stills": stills,
        "pictures": lambda: runs.load_pictures(context, frames_wanted.Wish(clip)),
        "part": lambda: runs.bring_in(context, frames_wanted.Wish(clip)),
        "compare": other_run,
        "season": lambda: season_actions.read_season(context),
        "group": lambda: group.open_group(context),
        "group sheet": lambda: group.make_sheet(context, prints=True),
        "export": export,
        "find clips": with_folder(copies.find_again),
        "merge": with_folder(copies.ask_merge),
        "check squad": lambda: copies.check_files(context),
    }


SEEN = (
    "page",
    "history",
    "run_name",
    "review.reading",
    "review.checks",
    "marking.gallery",
    "sheet.pages",
    "sheet.written",
    "around.season.shown",
    "around.group.content",
    "around.proposal.proposal",
    "compare.content",
    "compare.gallery",
    "compare.where",
)


def seen(app: Driver) -> list[object]:
    """Return all that a late result might change of what is shown."""
    values = [attrgetter(name)(app.state) for name in SEEN]
    return [*values, app.state.work, list(app.opened), dict(app.state.marking.kept)]


def test_a_late_result_changes_nothing_of_another_squad(
    app: Driver, two_athletes: Path, other_squad: Path, tmp_path: Path
) -> None:
    shutil.copytree(two_athletes, tmp_path / "copy")
    for kind in started(app, tmp_path):
        held = Held(app)
        started(app, tmp_path)[kind]()
        use_squad(app.context, other_squad)
        app.pump()
        before, files = seen(app), _files(other_squad)
        held.let_go()
        assert seen(app) == before, kind
        assert _files(other_squad) == files, kind
        use_squad(app.context, two_athletes)
        to_p02(app)


def test_a_late_result_of_one_athlete_is_not_taken_for_the_other(
    app: Driver, two_athletes: Path, tmp_path: Path
) -> None:
    for kind in ("reading", "checks", "page", "stills", "pictures", "season"):
        held = Held(app)
        started(app, tmp_path)[kind]()
        choose_athlete(app.context, "P03")
        app.pump()
        before, files = seen(app), _files(two_athletes / "athletes" / "P03")
        held.let_go()
        assert seen(app) == before, kind
        assert _files(two_athletes / "athletes" / "P03") == files, kind
        to_p02(app)


def _files(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.suffix == ".json"
    }
