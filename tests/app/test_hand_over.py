"""Print through the system, and open in the viewer where no printer takes the page.

No printer here: programs of the same names stand in for lp, lpr and xdg-open and note what they
were given. The Windows shell is stood in for by a function; the real one was never tried.
"""

import os
import stat
import sys
from pathlib import Path

import pytest

from tapmark.app.shell import hand_over
from tapmark.errors import CannotWrite


@pytest.fixture
def page(tmp_path: Path) -> Path:
    """A file with a space in its name."""
    path = tmp_path / "K07 sheet.pdf"
    path.write_bytes(b"%PDF-1.4")
    return path


@pytest.fixture
def programs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder that is all there is on the PATH."""
    folder = tmp_path / "bin"
    folder.mkdir()
    monkeypatch.setenv("PATH", str(folder))
    return folder


def program(folder: Path, name: str, code: int = 0) -> Path:
    """A program that notes its words and ends with a code; returns where it notes them."""
    noted = folder / f"{name}.noted"
    path = folder / name
    path.write_text(
        f'#!/bin/sh\necho "$1" > "{noted}.new"\n/bin/mv "{noted}.new" "{noted}"\nexit {code}\n'
    )
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return noted


needs_shell = pytest.mark.skipif(os.name != "posix", reason="stand-ins are shell scripts")


@needs_shell
@pytest.mark.parametrize("platform", ["linux", "darwin"])
def test_a_page_goes_to_the_printer(
    programs: Path, page: Path, platform: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "platform", platform)
    noted = program(programs, "lp")

    hand_over.print_file(page)

    assert noted.read_text().strip() == str(page)


@needs_shell
@pytest.mark.parametrize("lp", [None, 1])
def test_lpr_takes_it_where_lp_is_missing_or_has_no_printer(
    programs: Path, page: Path, lp: int | None
) -> None:
    if lp is not None:
        program(programs, "lp", lp)
    noted = program(programs, "lpr")

    hand_over.print_file(page)

    assert noted.read_text().strip() == str(page)


@pytest.mark.parametrize(("platform", "viewer"), [("linux", "xdg-open"), ("darwin", "open")])
def test_without_a_printer_the_page_opens_in_its_viewer_and_says_so(
    page: Path, platform: str, viewer: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "platform", platform)
    monkeypatch.setattr(hand_over, "_is_taken", lambda words: False)
    started = []
    monkeypatch.setattr(hand_over.subprocess, "Popen", lambda words, **_: started.append(words))

    with pytest.raises(CannotWrite, match=r"No printer took “K07 sheet\.pdf”\. It is open"):
        hand_over.print_file(page)

    assert started == [[viewer, str(page)]]


@needs_shell
def test_a_spooler_that_hangs_is_given_up(
    programs: Path, page: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (programs / "lp").write_text("#!/bin/sh\nexec /bin/sleep 60\n")
    (programs / "lp").chmod(0o755)
    monkeypatch.setattr(hand_over, "LONGEST_S", 0.2)
    noted = program(programs, "lpr")

    hand_over.print_file(page)

    assert noted.read_text().strip() == str(page)


@pytest.mark.usefixtures("programs")
def test_a_computer_with_neither_is_told_where_the_page_lies(
    page: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "platform", "linux")  # Windows' shell would open the page for real
    with pytest.raises(CannotWrite, match="print it from another computer") as told:
        hand_over.print_file(page)
    assert str(page.parent) in str(told.value)
    with pytest.raises(CannotWrite, match="open it from there"):
        hand_over.open_file(page)


@pytest.mark.parametrize(("hand", "verb"), [("print_file", "print"), ("open_file", "open")])
def test_windows_is_asked_by_its_shell_verbs(
    page: Path, hand: str, verb: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(os, "startfile", lambda *words: asked.append(words), raising=False)

    getattr(hand_over, hand)(page)

    assert asked == [(page, verb)]


def test_windows_without_a_print_verb_opens_the_page(
    page: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def start(path: Path, verb: str) -> None:
        asked.append(verb)
        if verb == "print":
            raise OSError(1155, "no application is associated")

    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(os, "startfile", start, raising=False)

    with pytest.raises(CannotWrite, match="It is open now"):
        hand_over.print_file(page)
    assert asked == ["print", "open"]
