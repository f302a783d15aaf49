"""Nothing leaves the computer: a whole walk with sockets that refuse to open."""

import shutil
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from tapmark.cli import main
from tests.sockets import refuse_sockets

ROOT = Path(__file__).parent.parent


@pytest.fixture
def no_sockets(monkeypatch: pytest.MonkeyPatch) -> None:
    refuse_sockets(monkeypatch)


@pytest.mark.usefixtures("no_sockets")
def test_a_whole_walk_opens_no_socket(tmp_path: Path) -> None:
    squad, clip = tmp_path / "d/squad", tmp_path / "d/film/P02/clip.mp4"
    visit = squad / "athletes/P02/2026-05-14"

    walk = (
        ["demo", tmp_path / "d", "--no-window"],
        ["measure", squad, "--json"],
        ["sheet", visit, "--copy", "coach"],
        ["sheet", visit, "--copy", "athlete"],
        ["sheet", squad, "--copy", "group"],
        ["squad", squad],
        ["check", squad],
        ["doctor"],
        ["compare", visit, visit],
        ["frames", clip, "--out", tmp_path / "stills", "--to", "0.05"],
        ["doctor", clip],
        ["backup", squad, tmp_path / "b.zip"],
        ["restore", tmp_path / "b.zip", tmp_path / "back"],
        ["restore", tmp_path / "b.zip", squad, "--replace"],
        ["delete", tmp_path / "back", "P01"],
    )

    assert [main([str(word) for word in words]) for words in walk] == [0] * len(walk)


def test_the_refusing_sockets_would_be_noticed(no_sockets: None) -> None:
    with pytest.raises(AssertionError, match="a socket was asked for"):
        socket.create_connection(("localhost", 9))


def test_the_demo_runs_in_a_namespace_without_any_network(tmp_path: Path) -> None:
    """ffmpeg is another program: only the system can show that it needs no network either."""
    unshare = shutil.which("unshare")
    tried = [unshare or "unshare", "--user", "--map-root-user", "--net", sys.executable]
    if unshare is None or subprocess.run([*tried, "-c", ""], capture_output=True).returncode:
        pytest.skip("this system gives no network namespace to try it in")

    done = subprocess.run(
        [*tried, "-m", "tapmark", "demo", str(tmp_path / "d"), "--no-window"],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )

    assert done.returncode == 0, done.stderr
