"""What lies in a folder, whatever state it is in."""

from pathlib import Path

from tapmark.store import listing
from tests.store import made


def test_a_folder_that_is_gone_holds_nothing(tmp_path: Path) -> None:
    assert list(listing.entries(tmp_path / "gone")) == []


def test_links_are_no_folders_and_no_athletes(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    link = squad.folder / "athletes" / "M12"
    link.symlink_to(squad.athlete_folder("K07"))
    (squad.folder / "athletes" / "not a code").mkdir()

    found = list(listing.folders(squad.folder / "athletes"))

    assert [path.name for path in found] == ["K07", "not a code"]
    assert [path.name for path in found if listing.is_athlete(path)] == ["K07"]
    assert not listing.is_athlete(link)
