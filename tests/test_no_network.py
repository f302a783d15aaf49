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
        encoding="utf-8",
    )

    assert done.returncode == 0, done.stderr
