"""The command line as a person meets it: results, plain refusals, nothing half done."""

import contextlib
import errno
import importlib
import io
import json
import os
import platform
import re
import shutil
import signal
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pypdf
import pytest

from tapmark.cli import COMMANDS, main
from tapmark.marks.people import Athlete
from tapmark.store.settings import Settings, save_settings
from tapmark.store.squad import make_squad
from tests.clip import made
from tests.clip.processes import ffmpegs_reading
from tests.services.made import quick_pages

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module", autouse=True)
def quick() -> Iterator[None]:
    """How pages look is the subject of tests/report."""
    with quick_pages():
        yield


@pytest.fixture
def no_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    """A demo without its pages, which take most of its time."""
    monkeypatch.setattr(
        "tapmark.services.demo.write_sheet", lambda place, *told: place.folder / "sheet.pdf"
    )


@pytest.fixture
def squad(demo: Path, tmp_path: Path) -> Path:
    """A squad of its own for a test that writes."""
    shutil.copytree(demo, tmp_path / "copy")
    return tmp_path / "copy" / "squad"


def test_demo_writes_a_page_for_each_athlete_and_a_table(demo: Path) -> None:
    pages = sorted(demo.glob("squad/athletes/*/*/sheet.pdf"))

    assert [page.parts[-3] for page in pages] == ["P01", "P02"]
    for page in pages:
        box = pypdf.PdfReader(page).pages[0].mediabox
        # A4 is 210 × 297 mm (ISO 216) at 72 points an inch (ISO 32000-1)
        assert (float(box.width), float(box.height)) == pytest.approx((595.28, 841.89), abs=0.2)
    lines = (demo / "measures.csv").read_bytes().split(b"\r\n")
    assert lines[0].startswith(b"date,code,run,step,")
    assert {line.split(b",")[1] for line in lines[1:-1]} == {b"P01", b"P02"}


def test_a_second_demo_leaves_the_first_alone_and_says_the_one_thing_of_each(
    demo: Path, no_pages: None, capsys: pytest.CaptureFixture[str]
) -> None:
    before = content(demo)

    main(["demo", str(demo), "--no-window"])

    said = capsys.readouterr().out
    assert {path.name for path in demo.parent.iterdir()} == {demo.name, f"{demo.name}-2"}
    assert before == content(demo)
    assert "P01, one thing to work on: nothing: keep this" in said
    assert "P02, one thing to work on: Rear leg late" in said
    assert "Nobody was filmed" in said


def test_a_demo_that_fails_leaves_no_half_folder_and_says_why(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    real, uses = os.fsync, iter(range(1000))

    def full(handle: int) -> None:
        if next(uses) == 30:
            raise OSError(errno.ENOSPC, "full")
        real(handle)

    with monkeypatch.context() as broken:
        broken.setattr(os, "fsync", full)
        assert main(["demo", str(tmp_path / "d"), "--no-window"]) == 1

    said = capsys.readouterr()
    assert said.out == "" and "the disk is full" in said.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="there is always a screen")
def test_demo_works_without_a_screen(
    tmp_path: Path,
    no_pages: None,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.delenv("DISPLAY", raising=False)

    assert main(["demo", str(tmp_path / "d")]) == 0

    assert "screen" in capsys.readouterr().err
    assert (tmp_path / "d" / "measures.csv").exists()


def test_demo_works_where_tkinter_is_missing_and_says_how_to_get_it(tmp_path: Path) -> None:
    """In another process, in which nobody has read it yet, and without its pages."""
    code = (
        "import sys; sys.modules['tkinter'] = None\n"
        "from tapmark.cli import main\n"
        "from tapmark.services import demo\n"
        "demo.write_sheet = lambda place, *told: place.folder / 'sheet.pdf'\n"
        f"sys.exit(main({['demo', str(tmp_path / 'd')]!r}))"
    )

    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, encoding="utf-8"
    )

    assert done.returncode == 0
    assert "tkinter" in done.stderr and "Traceback" not in done.stderr


def test_help_needs_no_library() -> None:
    code = (
        "import sys; from tapmark.cli import main\n"
        "try: main(['--help'])\n"
        "except SystemExit: pass\n"
        "print(sorted({'numpy', 'PIL', 'tkinter', 'imageio'} & set(sys.modules)))"
    )

    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, encoding="utf-8"
    )

    assert done.stdout.splitlines()[-1] == "[]"


def test_every_command_is_in_the_readme() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")

    for command in COMMANDS:
        assert f"`tapmark {command.name}" in readme, command.name


def test_measure_as_json_has_units_in_its_keys(
    demo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["measure", str(demo / "squad"), "--json"]) == 0

    runs = json.loads(capsys.readouterr().out)
    assert [run["code"] for run in runs] == ["P01", "P02", "P02", "P02"]
    reach = next(row for row in runs[1]["measures"] if row["key"] == "reach")
    assert {"value_deg", "plus_minus_95_deg"} <= reach.keys()


def test_two_forms_of_one_table_are_not_asked_for_at_once(
    demo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(["measure", str(demo / "squad"), "--csv", "--json"])

    said = capsys.readouterr()
    assert (stopped.value.code, said.out) == (2, "")
    assert "--json and --csv are two forms of the same numbers: ask for one" in said.err


def test_measure_gives_the_numbers_of_the_stored_run(
    demo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Truth of the drawing 20.4°, and the tapping error that its stored run carries."""
    run = demo / "squad/athletes/P02/2026-05-14/run-1.json"

    main(["measure", str(run)])

    reach = re.search(r"Reach[^\n]*near\s+(\d+) ± (\d+) °", capsys.readouterr().out)
    assert reach and abs(int(reach[1]) - 20.4) <= int(reach[2])


def test_measure_asks_about_a_clip_that_was_filmed_at_240_and_saved_at_30(
    squad: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The stored run with its clock eight times slower, and nobody said so."""
    run = squad / "athletes/P02/2026-05-14/run-1.json"
    plain = json.loads(run.read_text("utf-8"))
    run.write_text(json.dumps(slowed(plain, 8)), "utf-8")

    assert main(["measure", str(run)]) == 0

    asked = [line for line in capsys.readouterr().out.splitlines() if "Look again" in line]
    assert any("Filmed at 240, saved at 30?" in line for line in asked), asked


def slowed(plain: object, times: int) -> object:
    """Return a run whose seconds on the file's clock are that many times longer."""
    if isinstance(plain, list):
        return [slowed(each, times) for each in plain]
    if not isinstance(plain, dict):
        return plain
    return {
        key: value * times
        if key in ("time_s", "interval_s", "duration_s") and value is not None
        else slowed(value, times)
        for key, value in plain.items()
    }


def test_measure_with_a_decimal_comma_parts_cells_with_semicolons(
    demo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["measure", str(demo / "squad"), "--csv", "--comma"])

    first = capsys.readouterr().out.splitlines()[1]
    assert first.startswith("2026-05-14;P01;run-1;1;side;sprint;Reach")
    assert re.search(r";-?\d+,\d;", first)


@pytest.mark.parametrize(
    ("paper", "points"), [("a4", (595.28, 841.89)), ("letter", (612.0, 792.0))]
)
def test_sheet_has_the_paper_that_was_asked_for(
    squad: Path, paper: str, points: tuple[float, float]
) -> None:
    visit = squad / "athletes/P02/2026-05-14"

    assert main(["sheet", str(visit), "--paper", paper]) == 0

    box = pypdf.PdfReader(visit / "sheet.pdf").pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(points, abs=0.2)


def three_visits(squad: Path) -> list[str]:
    """Three visits of an invented squad: the two drawn runners under other codes."""
    paths = []
    for i in range(1, 4):
        source = squad / "athletes" / ("P01" if i % 2 else "P02")
        copy = shutil.copytree(source, squad / "athletes" / f"Q{i:02}")
        for file in (copy / "athlete.json", *copy.glob("*/visit.json")):
            told = json.loads(file.read_text("utf-8")) | {"code": copy.name}
            file.write_text(json.dumps(told), "utf-8")
        paths.append(str(copy / "2026-05-14"))
    return paths


def test_many_sheets_in_one_command_with_a_line_each(
    squad: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    visits = three_visits(squad)

    assert main(["sheet", *visits]) == 0

    said = capsys.readouterr()
    assert said.out.splitlines() == [str(Path(visit) / "sheet.pdf") for visit in visits]
    assert said.err.splitlines() == [f"{n} of 3 sheets" for n in range(1, 4)]
    assert all((Path(visit) / "sheet.html").is_file() for visit in visits)


def rest_of(terminal: int) -> str:
    """All that the closed other end of a pseudo-terminal wrote; one read may bring a part."""
    said = b""
    with contextlib.suppress(OSError):  # EIO: the other end is closed and all is read
        while more := os.read(terminal, 4096):
            said += more
    os.close(terminal)
    return said.decode()


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminal on Windows")
def test_on_a_terminal_a_bar_grows_over_one_line(
    squad: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import pty

    visits = [str(squad / "athletes" / code / "2026-05-14") for code in ("P01", "P02")]
    mine, theirs = pty.openpty()
    with os.fdopen(theirs, "w") as terminal:
        monkeypatch.setattr(sys, "stderr", terminal)
        assert main(["sheet", *visits]) == 0
        monkeypatch.undo()
    drawn = rest_of(mine).split("\r")

    bars = [part for part in drawn if part.startswith("[")]
    assert [bar.split("] ")[1] for bar in bars] == [f"{n} of 2 sheets" for n in range(3)]
    assert [bar.count("#") for bar in bars] == [0, 15, 30]
    assert drawn[-1].strip() == ""
    assert len(capsys.readouterr().out.splitlines()) == 2


def hears_ctrl_c() -> None:
    """Take back what a shell does to programs it starts in the background: deaf to Ctrl-C."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.fixture(scope="module")
def slow_clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clip that takes a second or two to read: 120 pictures in full HD."""
    path = tmp_path_factory.mktemp("slow") / "slow.mp4"
    options = {"preset": "ultrafast", "x264-params": "log-level=error"}
    pictures = [made.draw(1, (1920, 1080))] * 120
    return made.write_clip(path, pictures, made.steady(120, 60, 90_000), 90_000, options=options)


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminal on Windows")
@pytest.mark.parametrize("told", [signal.SIGINT, signal.SIGTERM])
@pytest.mark.parametrize("words", [["doctor"], ["frames", "--out", "stills"]], ids=lambda w: w[0])
def test_a_long_clip_shows_how_far_it_is_and_stops_in_one_sentence_with_nothing_left(
    words: list[str], told: signal.Signals, slow_clip: Path, tmp_path: Path
) -> None:
    """Ctrl-C, or told to end: one sentence, no ffmpeg, no half-written folder, no cache."""
    import pty

    mine, theirs = pty.openpty()
    command = [sys.executable, "-m", "tapmark", words[0], str(slow_clip), *words[1:]]
    env = os.environ | {"PYTHONPATH": str(ROOT), "TMPDIR": str(tmp_path)}
    running = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=theirs,
        cwd=tmp_path,
        env=env,
        encoding="utf-8",
        preexec_fn=hears_ctrl_c,
    )
    os.close(theirs)
    said = ""
    while " frames " not in said:
        said += os.read(mine, 4096).decode()
    assert len(ffmpegs_reading(slow_clip)) == 1
    running.send_signal(told)
    out, _ = running.communicate(timeout=20)
    said += rest_of(mine)

    assert (running.returncode, out) == (1, "")
    assert re.search(r"\[[#.]{30}\] \d+ of 12\d frames (read|written)", said)
    assert said.split("\r")[-2:] == ["Stopped.", "\n"]
    assert ffmpegs_reading(slow_clip) == []
    assert list(tmp_path.iterdir()) == []
    assert list(slow_clip.parent.iterdir()) == [slow_clip]


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminal on Windows")
@pytest.mark.parametrize("words", [["doctor"], ["frames", "--out", "stills"]], ids=lambda w: w[0])
def test_what_is_left_after_a_kill_goes_with_the_next_start(
    words: list[str], slow_clip: Path, tmp_path: Path
) -> None:
    import pty

    mine, theirs = pty.openpty()
    command = [sys.executable, "-m", "tapmark", words[0], str(slow_clip), *words[1:]]
    env = os.environ | {"PYTHONPATH": str(ROOT), "TMPDIR": str(tmp_path / "tmp")}
    (tmp_path / "tmp").mkdir()
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=theirs, cwd=tmp_path, env=env
    ) as running:
        said = ""
        while " frames " not in said:
            said += os.read(mine, 4096).decode()
        running.kill()
    os.close(theirs)
    os.close(mine)
    left = {path for path in tmp_path.rglob("*") if f"tapmark-{running.pid}" in path.name}
    assert left

    short = made.write_steady(tmp_path / "short.mp4", range(6), rate=30)
    again = [*command[:4], str(short), *words[1:]]
    done = subprocess.run(again, cwd=tmp_path, env=env, capture_output=True, check=True)

    assert b"6 frames" in done.stdout
    assert [path for path in left if path.exists()] == []
    assert not any((tmp_path / "tmp").iterdir())


def test_one_visit_that_cannot_be_printed_does_not_keep_the_others(
    squad: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    take_back(squad, "P01")
    visits = [squad / "athletes" / code / "2026-05-14" for code in ("P01", "P02")]
    (visits[1] / "sheet.pdf").unlink()

    assert main(["sheet", *map(str, visits)]) == 1

    said = capsys.readouterr()
    assert said.out.splitlines() == [str(visits[1] / "sheet.pdf")]
    assert "Not written: 1 of 2 sheets.\nP01 on 14 May 2026: " in said.err
    assert "withdrawn" in said.err


def test_sheet_remembers_what_was_printed(squad: Path) -> None:
    visit = json.loads((squad / "athletes/P02/2026-05-14/visit.json").read_text("utf-8"))

    assert visit["sheet_number"] == 3
    assert [slot["item"] for slot in visit["slots"]] == [4]


def test_compare_of_a_visit_with_itself_finds_no_change(
    squad: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    visit = squad / "athletes/P02/2026-05-14"
    later = squad / "athletes/P02/2026-06-18"
    shutil.copytree(visit, later)
    plain = json.loads((later / "visit.json").read_text("utf-8"))
    plain |= {"dated": "2026-06-18", "sheet_number": 0, "slots": None}
    (later / "visit.json").write_text(json.dumps(plain), "utf-8")

    assert main(["compare", str(visit), str(later)]) == 0

    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "P02: 14 May 2026, then 18 June 2026"
    assert lines[1].startswith("Rear leg late: ")
    assert not any("moved" in line for line in lines[1:] if "+0" in line or "−0" in line)


def test_squad_names_who_is_due(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["squad", str(demo / "squad")])

    said = capsys.readouterr().out
    assert "P02" in said and "Rear leg late" in said


def test_backup_restore_and_delete_go_round(
    squad: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    zipped, back = tmp_path / "b.zip", tmp_path / "back"

    assert main(["backup", str(squad), str(zipped)]) == 0
    assert main(["restore", str(zipped), str(back)]) == 0
    assert main(["delete", str(back), "P01", "--dry-run"]) == 0
    assert (back / "athletes/P01").exists()
    assert main(["delete", str(back), "P01"]) == 0
    assert not (back / "athletes/P01").exists()
    assert main(["check", str(back)]) == 0
    assert "back-ups" in capsys.readouterr().out


def test_doctor_tells_versions_and_nothing_of_a_person(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["doctor"]) == 0

    said = capsys.readouterr().out
    assert "Tapmark" in said and "ffmpeg" in said
    assert str(Path.home()) not in said


@pytest.mark.parametrize("way", ["installation", "clip", "no ffmpeg"])
def test_doctor_tells_nothing_of_person_computer_squad_athletes_clips_or_environment(
    way: str, tmp_path: Path
) -> None:
    """All that could name somebody is marked; the squad is open beside, as last time."""
    home, squad = tmp_path / "home-Zwq1", tmp_path / "home-Zwq1" / "Zwq2 group"
    marks = ["Zwq1", "Zwq2", "Zwq3", "Zwq4", "Zwq5", "Zwq6", "Zwq7"]
    make_squad(squad, "Zwq2 group").save_athlete(Athlete("Zwq3"))
    settings = Settings(place="Zwq3/2026-05-14/run-1/taps//", last_folder=str(squad))
    save_settings(home / "config" / "tapmark" / "settings.json", settings)
    clip = made.write_steady(squad / "Zwq4 400m.mp4", range(6), rate=30)
    named = {"USER": "Zwq5", "LOGNAME": "Zwq5", "USERNAME": "Zwq5", "HOSTNAME": "Zwq6"}
    env = os.environ | named | {"HOME": str(home), "TAPMARK_NOTE": "Zwq7", "PYTHONPATH": str(ROOT)}
    env |= {"XDG_CONFIG_HOME": str(home / "config"), "XDG_CACHE_HOME": str(home / "cache")}
    if way == "no ffmpeg":
        env["IMAGEIO_FFMPEG_EXE"] = str(home / "ffmpeg")
    words = ["doctor", *([str(clip)] if way == "clip" else [])]

    done = subprocess.run(
        [sys.executable, "-m", "tapmark", *words],
        cwd=squad,
        env=env,
        capture_output=True,
        encoding="utf-8",
    )

    said = done.stdout + done.stderr
    expected = {"clip": "“clip.mp4”: 6 frames", "no ffmpeg": "missing or does not start"}
    assert (done.returncode, expected.get(way, "Tapmark") in said) == (0, True)
    assert [mark for mark in marks if mark in said] == []
    values = [value for value in os.environ.values() if len(value) > 6]
    assert [value for value in (*values, platform.node()) if value in said] == []


def test_frames_writes_every_picture_and_its_time(tmp_path: Path) -> None:
    out, clip = tmp_path / "stills", made.write_steady(tmp_path / "c.mp4", range(101), rate=240)

    assert main(["frames", str(clip), "--out", str(out)]) == 0

    rows = (out / "times.csv").read_text("utf-8").splitlines()
    assert rows[0] == "picture,time_s,capture_time_s"
    assert len(rows) - 1 == len(list(out.glob("*.png"))) == 101
    assert float(rows[2].split(",")[1]) == pytest.approx(1 / 240, abs=1e-4)


def test_frames_of_a_clip_that_does_not_tell_its_rate_say_why_a_column_is_empty(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    clip = made.write_steady(tmp_path / "shared copy.mp4", range(6), rate=30)

    assert main(["frames", str(clip), "--out", str(tmp_path / "stills")]) == 0

    rows = (tmp_path / "stills" / "times.csv").read_text("utf-8").splitlines()
    assert rows[1].endswith(",")
    assert "Capture rate not known" in capsys.readouterr().err


def bad_inputs(squad: Path, empty: Path) -> dict[str, list[str]]:
    visit = squad / "athletes/P02/2026-05-14"
    return {
        "missing run": ["measure", str(visit / "run-9.json")],
        "missing squad": ["squad", str(squad / "nowhere")],
        "folder that is no squad": ["squad", str(empty)],
        "visit without runs": ["sheet", str(empty)],
        "unknown athlete": ["delete", str(squad), "Z99"],
        "missing clip": ["doctor", str(squad / "none.mp4")],
        "clip that is none": ["frames", str(squad / "squad.json"), "--out", str(empty / "x")],
        "restore of no zip": ["restore", str(squad / "squad.json"), str(empty / "x")],
        "two people": ["compare", str(visit), str(squad / "athletes/P01/2026-05-14")],
    }


@pytest.mark.parametrize("kind", bad_inputs(Path("s"), Path("e")))
def test_bad_input_gets_a_plain_line_and_exit_1(
    kind: str, squad: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    before = content(squad)

    code = main(bad_inputs(squad, empty)[kind])

    said = capsys.readouterr().err.strip()
    assert code == 1
    assert 0 < len(said.splitlines()) <= 2 and "Traceback" not in said
    assert said.endswith((".", "?", "”"))
    assert content(squad) == before
    assert list(empty.iterdir()) == []


def content(folder: Path) -> dict[str, bytes]:
    return {str(path): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_damaged_run_is_set_aside_and_named(
    squad: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run = squad / "athletes/P02/2026-05-14/run-1.json"
    run.write_bytes(run.read_bytes()[:200])

    assert main(["measure", str(run)]) == 1

    assert "run-1.json" in capsys.readouterr().err
    assert run.read_bytes() and len(list(run.parent.glob("run-1*"))) >= 3  # file, copy, stills


def test_a_run_from_a_newer_version_is_refused_and_left_alone(
    squad: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run = squad / "athletes/P02/2026-05-14/run-1.json"
    plain = json.loads(run.read_text("utf-8")) | {"format": 99}
    run.write_text(json.dumps(plain), "utf-8")
    before = content(squad)

    assert main(["measure", str(run)]) == 1

    assert "newer" in capsys.readouterr().err
    assert content(squad) == before


def test_without_consent_nothing_goes_out(squad: Path, capsys: pytest.CaptureFixture[str]) -> None:
    take_back(squad, "P02")
    visit = str(squad / "athletes/P02/2026-05-14")
    before = content(squad)

    assert main(["sheet", visit]) == 1
    assert main(["measure", visit, "--csv"]) == 1
    assert main(["compare", visit, visit]) == 1

    assert "withdrawn" in capsys.readouterr().err
    assert content(squad) == before


def test_the_group_sheet_of_a_squad_is_written_and_its_place_printed(
    squad: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sheet", str(squad), "--copy", "group"]) == 0

    path = Path(capsys.readouterr().out.strip())
    assert path.parent == squad and path.name.startswith("group-sheet-")
    html = path.with_suffix(".html").read_text("utf-8")
    assert "P01" in html and "P02" in html


def test_the_priority_of_somebody_who_took_consent_back_is_not_told(
    squad: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    take_back(squad, "P02")

    assert main(["squad", str(squad)]) == 0

    said = capsys.readouterr().out
    assert "ask first: consent withdrawn" in said and "Rear leg late" not in said


def take_back(squad: Path, code: str) -> None:
    athlete = squad / "athletes" / code / "athlete.json"
    plain = json.loads(athlete.read_text("utf-8"))
    for consent in plain["consents"]:
        consent["withdrawn"] = "2026-06-01"
    athlete.write_text(json.dumps(plain), "utf-8")


def test_results_are_utf8_with_plain_line_ends_on_any_console(demo: Path) -> None:
    """A pipe on Windows is opened in the old western code page, which has no “≈” and no “−”."""
    run = demo / "squad/athletes/P02/2026-05-14/run-1.json"
    code = f"import sys; from tapmark.cli import main; sys.exit(main(['measure', {str(run)!r}]))"
    env = os.environ | {"PYTHONIOENCODING": "cp1252", "PYTHONUTF8": "0"}

    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, env=env, capture_output=True)

    assert done.returncode == 0 and done.stderr == b""
    assert "≈" in done.stdout.decode("utf-8") and b"\r" not in done.stdout


def test_deleting_an_athlete_also_empties_what_was_prepared_from_clips(
    squad: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    prepared = tmp_path / "cache" / "tapmark" / "0123-4567-1-0.pictures"
    prepared.parent.mkdir(parents=True)
    prepared.write_bytes(b"pictures")

    main(["delete", str(squad), "P01", "--dry-run"])
    assert prepared.exists()
    main(["delete", str(squad), "P01"])
    assert not prepared.exists()


def test_an_unwritable_folder_is_told_and_nothing_is_half_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("in the way", "utf-8")

    assert main(["demo", str(tmp_path / "file" / "demo"), "--no-window"]) == 1

    assert "“file” cannot be written: a file stands where" in capsys.readouterr().err
    assert (tmp_path / "file").read_text("utf-8") == "in the way"


RESULTS = (["doctor"], ["--help"], ["--version"], ["squad", "SQUAD"], ["measure", "SQUAD", "--csv"])


def codes_with_output(demo: Path, out: int, monkeypatch: pytest.MonkeyPatch) -> list[int | None]:
    """Run each command of RESULTS with its results into an open file; return the exit codes."""
    codes: list[int | None] = []
    for words in RESULTS:
        argv = [str(demo / "squad") if word == "SQUAD" else word for word in words]
        with os.fdopen(os.dup(out), "w") as stream, monkeypatch.context() as put:
            put.setattr(sys, "stdout", stream)
            try:
                codes.append(main(argv))
            except SystemExit as end:
                codes.append(end.code)  # type: ignore[arg-type]
    return codes


def measured_by_a_program(demo: Path, out: int) -> subprocess.CompletedProcess[str]:
    """The same as a program of its own, which flushes what is left as it ends."""
    command = [sys.executable, "-m", "tapmark", "measure", str(demo / "squad"), "--csv"]
    return subprocess.run(command, cwd=ROOT, stdout=out, stderr=subprocess.PIPE, encoding="utf-8")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_result_that_does_not_get_out_is_never_0(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with Path("/dev/full").open("wb") as full:
        codes = codes_with_output(demo, full.fileno(), monkeypatch)
        done = measured_by_a_program(demo, full.fileno())

    sentence = "The result is not whole: the disk is full"
    assert codes == [1] * len(RESULTS)
    assert capsys.readouterr().err.count(sentence) == len(RESULTS)
    assert done.returncode == 1 and sentence in done.stderr
    assert "Traceback" not in done.stderr and "ignored" not in done.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="a shut pipe is tried below")
def test_a_pipe_that_its_reader_shut_ends_without_a_word_and_not_with_0(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    codes = codes_with_output(demo, writer, monkeypatch)
    done = measured_by_a_program(demo, writer)
    os.close(writer)

    assert codes == [1] * len(RESULTS)
    assert done.returncode == 1
    for said in (done.stderr, capsys.readouterr().err):
        assert "Traceback" not in said and "ignored" not in said
        assert "not whole" not in said


@pytest.mark.parametrize("number", [errno.EPIPE, errno.EINVAL])
def test_a_shut_pipe_as_windows_tells_it_is_no_trouble_to_talk_about(
    number: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    class Shut(io.StringIO):
        def write(self, text: str) -> int:
            raise OSError(number, "shut")

    monkeypatch.setattr(sys, "stdout", Shut())

    assert main(["doctor"]) == 1
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("words", [["squad"], ["measure"], ["sheet"], ["doctor"], ["delete", "x"]])
def test_no_sign_that_steers_a_terminal_is_printed(
    words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    name = str(tmp_path / "\x1b[2J\x07\x9b5m\u202eabc\rx")

    with contextlib.suppress(SystemExit):
        main([words[0], name, *words[1:], "--\x1b[31m"])
    with contextlib.suppress(SystemExit):
        main([words[0], name, *words[1:]])

    said = capsys.readouterr()
    assert "abc" in said.err
    assert not set("\x1b\x07\x9b\u202e\r") & set(said.out + said.err)


def test_a_double_click_opens_the_window_without_a_console(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Without streams, as Windows starts a program that has no console."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    module, _, name = project["gui-scripts"]["tapmark-window"].partition(":")
    opened: list[object] = []
    monkeypatch.setattr(sys, "stdout", None)
    monkeypatch.setattr(sys, "stderr", None)
    monkeypatch.setattr("tapmark.app.main.open_window", lambda *asked: opened.append(asked) or 0)

    assert getattr(importlib.import_module(module), name)() == 0
    assert opened == [(None, "")]
