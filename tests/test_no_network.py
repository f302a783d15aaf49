"""Nothing leaves the computer. tests/test_papers.py runs every command with sockets refused."""

import shutil
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from tests.sockets import refuse_sockets

ROOT = Path(__file__).parent.parent


@pytest.fixture
def no_sockets(monkeypatch: pytest.MonkeyPatch) -> None:
    refuse_sockets(monkeypatch)


def test_the_refusing_sockets_would_be_noticed(no_sockets: None) -> None:
    with pytest.raises(AssertionError, match="a socket was asked for"):
        socket.create_connection(("localhost", 9))


def test_page_and_frames_are_made_in_a_namespace_without_any_network(
    demo: Path, tmp_path: Path
) -> None:
    """ffmpeg is another program: only the system can show that it needs no network either."""
    unshare = shutil.which("unshare")
    tried = [unshare or "unshare", "--user", "--map-root-user", "--net", sys.executable]
    if unshare is None or subprocess.run([*tried, "-c", ""], capture_output=True).returncode:
        pytest.skip("this system gives no network namespace to try it in")

    home = shutil.copytree(demo, tmp_path / "demo")
    sheet = ["sheet", str(home / "squad/athletes/P02/2026-05-14")]
    frames = ["frames", str(home / "film/P02/clip.mp4"), "--out", str(tmp_path / "stills")]
    frames += ["--from", "0.1", "--to", "0.12"]
    code = f"from tapmark.cli import main\nassert main({sheet}) == main({frames}) == 0"

    done = subprocess.run(
        [*tried, "-c", code],
        cwd=ROOT,
        capture_output=True,
        encoding="utf-8",
    )

    assert done.returncode == 0, done.stderr
    assert (tmp_path / "stills" / "times.csv").exists()
