"""The whole squad in order, however much of it cannot be read."""

from pathlib import Path

import pytest

from tapmark.errors import FileDamaged, StoreError
from tapmark.store.squad import all_runs
from tests.store import made


def test_runs_come_by_code_date_and_number(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("M12", "K07"), n_visits=2)

    runs = [(code, dated, name) for code, dated, name, _ in all_runs(squad)]

    assert runs == [
        ("K07", "2026-03-14", "run-1"),
        ("K07", "2026-04-13", "run-1"),
        ("M12", "2026-03-14", "run-1"),
        ("M12", "2026-04-13", "run-1"),
    ]


def test_what_cannot_be_read_is_gathered_or_raised(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    squad.run_path("K07", "2026-03-14", "run-1").write_bytes(b"torn")
    troubles: list[StoreError] = []

    assert [code for code, *_ in all_runs(squad, troubles)] == ["M12"]
    assert len(troubles) == 1
    with pytest.raises(FileDamaged):
        list(all_runs(squad))
