"""What lies in a folder, whatever state it is in."""

import os
from pathlib import Path

import pytest

from tapmark.store.squad import entries, folders, is_athlete, is_called
from tests.links import link
from tests.store import made


def test_a_folder_that_is_gone_holds_nothing(tmp_path: Path) -> None:
    assert list(entries(tmp_path / "gone")) == []


def test_links_are_no_folders_and_no_athletes(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    linked = link(squad.folder / "athletes" / "M12", squad.athlete_folder("K07"))
    (squad.folder / "athletes" / "not a code").mkdir()

    found = list(folders(squad.folder / "athletes"))

    assert [path.name for path in found] == ["K07", "not a code"]
    assert [path.name for path in found if is_athlete(path)] == ["K07"]
    assert not is_athlete(linked)


def test_other_letters_for_a_folder_are_not_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A link stands in for a disk on which k07 leads to K07."""
    (tmp_path / "K07").mkdir()
    assert is_called(tmp_path / "K07") and not is_called(tmp_path / "k07")

    link(tmp_path / "k07", "K07")
    monkeypatch.setattr(os, "listdir", lambda folder: ["K07"])

    assert is_called(tmp_path / "K07") and not is_called(tmp_path / "k07")
