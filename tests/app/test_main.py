"""Where the window cannot open it says so in plain words, and every command works without it."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tapmark.app.main import VIEWS, Views
from tapmark.app.state.pages import ASIDE, PAGES

ROOT = Path(__file__).resolve().parents[2]


def run(code: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run a line of Python as a fresh program without a display."""
    bare = {k: v for k, v in os.environ.items() if k not in {"DISPLAY", "WAYLAND_DISPLAY"}}
    return subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env={**bare, **environment},
        capture_output=True,
        encoding="utf-8",
        timeout=60,
    )


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux has a display to take away")
def test_without_a_display_one_line_says_so() -> None:
    done = run("import sys; from tapmark.cli import main; sys.exit(main([]))")
    assert done.returncode == 1
    assert "no screen" in done.stderr and "tapmark --help" in done.stderr
    assert "DISPLAY" not in done.stderr  # a coach cannot act on the name of a variable
    assert "Traceback" not in done.stderr


def test_without_tkinter_one_line_says_how_to_get_it() -> None:
    done = run(
        "import sys; sys.modules['tkinter'] = None\n"
        "from tapmark.cli import main; sys.exit(main([]))"
    )
    assert done.returncode == 1
    assert "tkinter" in done.stderr and "python3-tk" in done.stderr
    assert "Traceback" not in done.stderr


APP = ROOT / "tapmark" / "app"
PLAIN = [
    "jobs",
    "actions",
    *(f"state.{path.stem}" for path in sorted((APP / "state").glob("[a-z]*.py"))),
    *(f"shell.{path.stem}" for path in sorted((APP / "shell").glob("[a-z]*.py"))),
]
PLAIN.remove("shell.dialogs")
"""Everything of the window that holds no widget."""


def test_the_logic_of_the_window_needs_no_tkinter() -> None:
    lines = "\n".join(f"import tapmark.app.{name}" for name in PLAIN)
    done = run(f"import sys; sys.modules['tkinter'] = None\n{lines}")
    assert done.returncode == 0, done.stderr


def test_a_text_that_is_no_squad_is_refused_before_anything_opens(tmp_path: Path) -> None:
    from tapmark.app.shell.squads import use_squad
    from tests.app.made import bare_context

    context = bare_context(tmp_path)
    (tmp_path / "letters").mkdir()
    assert not context.attempt(lambda: use_squad(context, tmp_path / "letters"))
    assert "not a squad" in context.state.error
    assert not context.attempt(lambda: use_squad(context, tmp_path / "gone"))
    assert "no folder" in context.state.error


def test_our_own_mistake_becomes_a_calm_line_and_the_marks_are_saved(
    tmp_path: Path, squad_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from tapmark.app.main import tell_own_mistake
    from tests.app.made import context_with_run

    context = context_with_run(tmp_path, squad_folder)
    mistake = KeyError("hip")
    tell_own_mistake(context, KeyError, mistake, None)
    assert "KeyError" in context.state.error and "saved" in context.state.error
    assert "KeyError" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("geometry", "is_kept"),
    [
        ("1200x680+20+10", True),
        ("1200x680+-8+-8", True),
        ("1920x1000+0+0", False),
        ("1200x680+1900+10", False),
        ("1200x680+20+800", False),
        ("", False),
        ("nonsense", False),
    ],
)
def test_a_window_that_would_lie_off_the_screen_is_put_back(geometry: str, is_kept: bool) -> None:
    from tapmark.app.main import fits

    assert fits(geometry, 1366, 768) is is_kept


def test_every_page_has_a_view() -> None:
    assert {*PAGES, *ASIDE, "help"} == set(VIEWS)


def test_a_view_is_made_when_its_page_is_first_opened_and_only_once() -> None:
    views = Views()

    assert not views
    assert views["squad"] is views["squad"]
    assert list(views) == ["squad"]


@pytest.mark.parametrize(
    ("screen", "unit", "bar", "size"),
    [
        ((1366, 768), 1.0, 27, (1366, 701)),
        ((1920, 1080), 1.0, 27, (1366, 741)),
        ((1024, 600), 1.0, 27, (1024, 533)),
        ((2880, 1800), 1.5, 41, (2049, 1111)),
        ((3840, 2160), 2.0, 54, (2732, 1482)),
    ],
)
def test_the_first_window_is_as_large_on_a_screen_with_more_dots(
    screen: tuple[int, int], unit: float, bar: int, size: tuple[int, int]
) -> None:
    from tapmark.app.main import first_size

    assert first_size(screen, unit, bar) == size


def test_on_windows_sharp_pixels_are_asked_for_before_tk_starts(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """With stand-ins for what Windows and Tk give: the order is what is tested."""
    import ctypes
    from types import SimpleNamespace

    from tapmark.app import main

    done: list[str] = []
    aware = SimpleNamespace(SetProcessDpiAwareness=lambda level: done.append(f"aware {level}"))
    monkeypatch.setattr(ctypes, "windll", SimpleNamespace(shcore=aware), raising=False)
    monkeypatch.setattr(main.sys, "platform", "win32")
    monkeypatch.setattr(main.tk, "Tk", lambda className: done.append("Tk"))
    main._root()  # noqa: SLF001
    assert done == ["aware 1", "Tk"]


def test_our_own_theme_is_used_on_windows_too() -> None:
    """The native one cut texts at every scaling; macOS keeps its own."""
    from tapmark.app.widgets.theme import NATIVE

    assert {"aqua"} == NATIVE
