"""A folder that a program copied half way, or copied twice: told, nothing lost, nothing doubled."""

from datetime import date
from pathlib import Path

import pytest

from tapmark.errors import StoreError
from tapmark.services.exports import season_csv, taps_csv
from tapmark.services.group import group_of
from tapmark.services.squads import check_squad
from tapmark.services.visits import read_visit
from tapmark.store.squad import Squad
from tests.services.made import (
    FIRST,
    SECOND,
    TODAY,
    agreed,
    contents,
    place,
    run_of,
    season_of,
    squad_of,
)

DAY = date.fromisoformat(TODAY)
COPIES = (
    "run-2 (conflicted copy).json",
    "run-2 (A's conflicted copy 2026-06-01).json",
    "run-2 2.json",
    "run-2-LAPTOP.json",
    "run-2.sync-conflict-20260601-101010-ABCDEFG.json",
)


@pytest.fixture
def squad(tmp_path: Path) -> Squad:
    visits = [(FIRST, [run_of("over", 1)]), (SECOND, [run_of("over", 2), run_of("over", 3)])]
    return squad_of(tmp_path / "squad", [agreed()], {"K07": visits})


@pytest.mark.parametrize("placeholder", ["", ".run-2.json.icloud", "run-2.json.cloud"])
def test_a_run_that_has_not_arrived_is_told_wherever_the_visit_is_shown(
    squad: Squad, placeholder: str
) -> None:
    """Nothing, or a file of another name that stands for one which lies elsewhere."""
    path = squad.run_path("K07", SECOND, "run-2")
    path.unlink()
    if placeholder:
        (path.parent / placeholder).write_bytes(b"bplist00")
    before = contents(squad.folder)
    found: list[StoreError] = []

    (line,) = group_of(squad, DAY, troubles=found).lines

    words = "K07 on 6 May 2026 counts run 2, but “run-2.json” is not there"
    assert (line.dated, line.note) == (SECOND, "")
    assert [str(each).startswith(words) for each in found] == [True]
    assert [note.startswith(words) for note in season_of(squad, "K07", DAY).notices] == [True]
    assert read_visit(place(squad, dated=SECOND), DAY).results.n_steps == 1
    assert any("run-2" in each for each in check_squad(squad.folder, DAY))
    assert contents(squad.folder) == before


def test_a_file_of_no_bytes_is_told_and_the_visit_before_it_shown(squad: Squad) -> None:
    """A name whose bytes have not been brought yet."""
    squad.run_path("K07", SECOND, "run-2").write_bytes(b"")
    found: list[StoreError] = []

    (line,) = group_of(squad, DAY, troubles=found).lines

    assert (line.dated, line.note) == (FIRST, "a visit cannot be read")
    assert "“K07/2026-05-06/run-2.json” is empty" in str(found[0])
    assert squad.run_path("K07", SECOND, "run-2").read_bytes() == b""


@pytest.mark.parametrize("copy", COPIES)
def test_a_second_copy_is_named_kept_and_counted_nowhere(
    squad: Squad, tmp_path: Path, copy: str
) -> None:
    path = squad.run_path("K07", SECOND, "run-2")
    out = {kind: write(squad, ["K07"], tmp_path, DAY).read_bytes() for kind, write in TABLES}
    (path.parent / copy).write_bytes(path.read_bytes())
    again = Squad(squad.folder)
    before = contents(squad.folder)

    for kind, write in TABLES:
        assert write(again, ["K07"], tmp_path, DAY).read_bytes() == out[kind]
    assert read_visit(place(again, dated=SECOND), DAY).results.n_steps == 2
    assert any("second copy" in each and copy in each for each in check_squad(squad.folder, DAY))
    assert contents(squad.folder) == before


TABLES = (("season", season_csv), ("taps", taps_csv))
