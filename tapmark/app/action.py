"""What a thing that a person can do is made of, and what the window offers to it."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from tapmark.app.desk import Desk


def always(desk: "Desk") -> str:
    """Nothing stands in the way."""
    return ""


@dataclass(frozen=True)
class Action:
    """One thing a person can do, with its words and keys.

    name:      fixed name in code. label: in menus and on the help page.
    keys:      e.g. "Mod+Z"; pages: where the keys act, () = everywhere.
    group:     heading in the menu and on the help page; every action has one.
    hindrance: why it cannot be done now, "" when it can.
    in_menu:   False for keys that would only make the menu long; the help page shows them all.
    """

    name: str
    label: str
    run: Callable[["Desk"], None]
    keys: tuple[str, ...] = ()
    pages: tuple[str, ...] = ()
    group: str = ""
    hindrance: Callable[["Desk"], str] = always
    in_menu: bool = True

    def is_available(self, desk: "Desk") -> bool:
        """Say whether it can be done now."""
        return not self.hindrance(desk)

    def is_on(self, page: str) -> bool:
        """Say whether its keys act on a page."""
        return not self.pages or page in self.pages


class Asker(Protocol):
    """Asks for files and folders; None = thought better of it."""

    def clip(self) -> Path | None:
        """Ask for one clip."""

    def folder(self, title: str) -> Path | None:
        """Ask for a folder that exists or will be made."""

    def stills(self) -> tuple[Path, ...]:
        """Ask for loose stills, none when thought better of it."""

    def list_file(self) -> Path | None:
        """Ask for a list of athletes (CSV)."""

    def zip_file(self) -> Path | None:
        """Ask for a back-up."""

    def save_as(self, title: str, name: str) -> Path | None:
        """Ask where to write a file."""


class Places(Protocol):
    """The window's own movements that a deed may ask for."""

    def next_pane(self) -> None:
        """Move the keyboard to the next part of the page."""

    def lay_out_again(self) -> None:
        """Build the pages anew: the text size or the handedness changed."""

    def close(self) -> None:
        """Close the window."""
