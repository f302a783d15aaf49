"""Every command in README and DEVELOPERS.md is run here, by its words as they stand there.

A command that takes minutes is run with a tiny count, and only with -m long; what cannot be run
inside the tests (the tests themselves, a fresh installation, the virtual screen) is named with
what runs it instead. A new command without a run fails.
"""

import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tapmark.cli import main
from tests.services.made import quick_pages
from tests.sockets import refuse_sockets

ROOT = Path(__file__).parent.parent
TEXT = "".join((ROOT / name).read_text("utf-8") for name in ("README.md", "DEVELOPERS.md"))
STARTS = r"tapmark|python -m|\.ci/run|Xvfb|DISPLAY|import"

RUN = {
    "tapmark frames CLIP --out FOLDER [--from S --to S]": (
        "frames {demo}/film/P02/clip.mp4 --out {new} --from 0.1 --to 0.12"
    ),
    "tapmark measure RUN…": "measure {demo}/squad --json",
    "tapmark measure … --csv": "measure {demo}/squad --csv --comma",
    "tapmark measure … --json": "measure {demo}/squad --json",
    "tapmark sheet": "sheet {visit}",
    "tapmark sheet VISIT… [--paper a4\\|letter] [--copy athlete\\|coach\\|photo]": (
        "sheet {visit} --paper letter --copy coach"
    ),
    "tapmark sheet SQUAD… --copy group": "sheet {demo}/squad --copy group",
    "tapmark film VISIT [--beside VISIT] [--kind drawn\\|photo] [--gif] [--out FOLDER]": (
        "film {visit} --gif"
    ),
    "tapmark squad FOLDER": "squad {demo}/squad",
    "tapmark compare VISIT VISIT": "compare {visit} {visit}",
    "tapmark check FOLDER": "check {demo}/squad",
    "tapmark backup SQUAD ZIP": "backup {demo}/squad {new}.zip",
    "tapmark restore ZIP FOLDER [--replace] [--dry-run]": "restore {zip} {demo}/squad --replace",
    "tapmark delete": "delete {demo}/squad P01 --dry-run",
    "tapmark delete SQUAD CODE [--dry-run]": "delete {demo}/squad P01",
    "tapmark doctor [CLIP]": "doctor {demo}/film/P02/clip.mp4",
}
PYTHON = {
    "python -m tests.drawn_runner.runs sample_frames": "tests.drawn_runner.runs {samples}",
    "python -m tests.long.kills": "tests.long.kills 1 1 1",
    "python -m tests.long.fuzz": "tests.long.fuzz 24",
    "python -m tests.long.coverage 20000": "tests.long.coverage 2",
    "python -m tests.long.mutants": "tests.long.mutants --help",
    "python -m tests.report.look_at FOLDER": "tests.report.look_at {new}",
}
ELSEWHERE = {
    ".ci/run": "runs these tests, so these tests cannot run it; read by bash -n below",
    "python -m pytest": "these tests",
    "python -m tests": "these tests",
    'python -m tests -m "not window and not long"': "these tests",
    'python -m pytest -m "window and not long"': "these tests",
    "python -m tests -m long": "these tests",
    ".venv/bin/pip install '.[test]' && .venv/bin/python -m tests": "the first lines of .ci/run",
    "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/tapmark demo": (
        "the first lines of .ci/run, and the demo above"
    ),
    "tapmark": "tests/app/test_main.py opens the window",
    "tapmark demo": "run with a FOLDER",
    "tapmark demo [FOLDER]": "the fixture demo calls it and refuses sockets",
    "tapmark-window": "tests/test_cli.py calls what it names",
    "Xvfb :77 -screen 0 1366x768x24 &": "the screen in .ci/run",
    "DISPLAY=:77 tapmark demo": "the demo above, and tests/app/test_main.py",
    "import -window root picture.png": "a program of the system, for a look by hand",
    "python -m tests.benchmarks.bench_NAME": "each is read below; figures take minutes",
    "python -m tests.app.look_at FOLDER [DOTS]": "needs a screen; read below",
    "python -m tests.app.look_at_awkward FOLDER [TEXT]": "needs a screen; read below",
    "python -m tests.long.html_in_chromium": "needs a browser; read below",
    "python -m tests.long.packaging PYTHON…": "needs a package index and minutes; read below",
    "python -m tests.long.windows [--times N] [--demo FOLDER] [PART…]": "needs Windows; read below",
    "python -m tests.long.libraries [PYTHON…]": "needs a package index and minutes; read below",
    "python -m tests.long.random_events [MINUTES] [SEED…]": "half an hour; read below",
    "python -m tests.long.fuzz_lines": "takes minutes; tests/test_fuzz_lines.py runs a few",
    "python -m tests.long.kills_in_copies": "takes minutes; read below",
    "python -m tests.long.retap 300": "takes minutes; read below",
    "python -m tests.long.power 2000": "an hour; tests/checklist/test_power.py runs a few",
    "python -m tests.long.choices FOLDER 300": "needs coordinates from elsewhere; read below",
    "python -m tests.long.saver_mutants": "runs many of these tests on copies; read below",
    "python -m tests.drawn_runner.make_samples sample_frames": "a minute; a test calls it",
    "python -m tests.checklist.reading_grade": "a table for reading; read below",
    "python -m tests.report.golden": "writes the expected pages anew; read below",
    "python -m tests.index": "tests/test_documents.py compares its words with the file",
    "python -m tests.store.write_schemas": "tests/store compares its words with the files",
}
READ_ONLY = sorted(
    [f"tests.benchmarks.{path.stem}" for path in (ROOT / "tests/benchmarks").glob("bench_*.py")]
    + [
        "tests.app.look_at",
        "tests.app.look_at_awkward",
        "tests.checklist.reading_grade",
        "tests.long.fuzz_lines",
        "tests.long.html_in_chromium",
        "tests.long.kills_in_copies",
        "tests.long.libraries",
        "tests.long.packaging",
        "tests.long.windows",
        "tests.long.random_events",
        "tests.long.retap",
        "tests.long.choices",
        "tests.long.power",
        "tests.long.saver_mutants",
        "tests.report.golden",
    ]
)


def commands() -> set[str]:
    """Return every command of the papers: in backticks or on a line of a code block."""
    quoted = re.findall(rf"`((?:{STARTS})(?![\w./])[^`\n]*)`", TEXT)
    blocks = re.findall(r"^```\n(.*?)^```", TEXT, re.MULTILINE | re.DOTALL)
    lines = [line for block in blocks for line in block.splitlines()]
    return {*quoted, *lines}


def test_every_command_of_the_papers_is_run() -> None:
    assert sorted({*RUN, *PYTHON, *ELSEWHERE}) == sorted(commands())


@pytest.fixture(scope="module")
def zipped(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A back-up of the demo's squad."""
    path = tmp_path_factory.mktemp("papers") / "squad.zip"
    assert main(["backup", str(demo / "squad"), str(path)]) == 0
    return path


@pytest.fixture(scope="module", autouse=True)
def quick() -> Iterator[None]:
    """How pages look is the subject of tests/report."""
    with quick_pages():
        yield


def filled(words: str, demo: Path, zipped: Path, folder: Path) -> list[str]:
    """Return the words with places of a test in them."""
    copy = folder / "demo"
    shutil.copytree(demo, copy)
    places = {
        "demo": copy,
        "visit": copy / "squad/athletes/P02/2026-05-14",
        "zip": zipped,
        "samples": folder / "samples",
        "new": folder / "new",
    }
    return [word.format_map(places) for word in words.split(" ")]


@pytest.mark.parametrize("words", RUN.values(), ids=RUN.keys())
def test_command_of_the_papers_works_and_asks_for_no_socket(
    words: str,
    demo: Path,
    zipped: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    refuse_sockets(monkeypatch)

    assert main(filled(words, demo, zipped, tmp_path)) == 0, capsys.readouterr().err


@pytest.mark.long
def test_programs_of_the_papers_work(tmp_path: Path) -> None:
    """One after the other in one other process, each as python -m runs it."""
    shutil.copytree(ROOT / "sample_frames", tmp_path / "samples")
    places = {"samples": tmp_path / "samples", "new": tmp_path / "new"}
    asked = [[word.format_map(places) for word in words.split(" ")] for words in PYTHON.values()]
    if sys.platform == "win32":  # its children are forked
        asked = [words for words in asked if words[0] != "tests.long.mutants"]
    code = (
        "import runpy, sys\n"
        f"for words in {asked}:\n"
        "    print(sys.argv, file=sys.stderr)\n"
        "    sys.argv = words\n"
        "    try:\n"
        "        runpy.run_module(words[0], run_name='__main__', alter_sys=True)\n"
        "    except SystemExit as end:\n"
        "        assert not end.code, (words, end.code)\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, encoding="utf-8"
    )

    assert done.returncode == 0, done.stderr


def test_long_programs_of_the_papers_can_be_read_and_say_how_to_call_them() -> None:
    """In one other process: what a program changes as it is read must not stay here."""
    if sys.platform == "win32":
        pytest.skip("some of them read resource, which is of POSIX")
    code = (
        "import importlib\n"
        f"for name in {READ_ONLY}:\n"
        "    read = importlib.import_module(name)\n"
        "    assert callable(read.main), name\n"
        "    assert name in read.__doc__, name\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, encoding="utf-8"
    )

    assert done.returncode == 0, done.stderr


def test_the_check_before_a_change_lands_is_a_script_that_bash_can_read() -> None:
    if not shutil.which("bash"):
        pytest.skip("no bash on this computer to read .ci/run")
    done = subprocess.run(
        ["bash", "-n", ".ci/run"], cwd=ROOT, capture_output=True, encoding="utf-8"
    )

    assert (done.returncode, done.stderr) == (0, "")
