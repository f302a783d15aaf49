"""Sockets that refuse to open, for whoever wants to be sure that nothing leaves the computer."""

import socket
from typing import NoReturn

import pytest


def refuse_sockets(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make every way to open a connection or to ask for an address fail the test."""

    def refuse(*args: object, **more: object) -> NoReturn:
        raise AssertionError(f"a socket was asked for: {args}")

    for name in ("socket", "create_connection", "getaddrinfo", "gethostbyname"):
        monkeypatch.setattr(socket, name, refuse)
