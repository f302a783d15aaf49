"""A run that is open for marking."""

import errno
import os
from datetime import datetime
from pathlib import Path

import pytest

from tapmark.errors import CannotWrite, FileDamaged, HeldByAnother, NotThere
from tapmark.store.files import write_json
from tapmark.store.open_run import open_run
from tapmark.store.schema import RUN_FILE
from tapmark.store.squad import open_squad
from tests.store import made
from tests.store.test_files import failing

NOW = datetime(2026, 5, 14, 20, 30)
WHERE = ("K07", "2026-03-14", "run-1")


def test_every_save_is_on_the_disk_at_once(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    with open_run(squad, *WHERE, "window", NOW) as held:
        assert held.run == made.standard_run()
        held.save(made.standard_run("CD", 4.0))
        assert open_squad(squad.folder).load_run(*WHERE) == held.run == made.standard_run("CD", 4.0)
    assert held.notes == ()


def test_a_save_that_is_refused_leaves_what_was_saved_last(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    squad = made.squad_of(tmp_path / "squad")
    with open_run(squad, *WHERE, "window", NOW) as held:
        with monkeypatch.context() as full, pytest.raises(CannotWrite):
            full.setattr(os, "write", failing("write", 1, errno.ENOSPC))
            held.save(made.standard_run("CD", 4.0))
        assert held.run == made.standard_run() == open_squad(squad.folder).load_run(*WHERE)


def test_a_change_that_leaves_the_size_of_the_file_as_it_was_is_saved_too(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    with open_run(squad, *WHERE, "window", NOW) as held:
        held.save(made.standard_run("CD", 1.0))
        size = squad.run_path(*WHERE).stat().st_size
        held.save(made.standard_run("CE", 1.0))
    assert squad.run_path(*WHERE).stat().st_size == size
    assert squad.load_run(*WHERE) == made.standard_run("CE", 1.0)


def test_two_windows_cannot_mark_one_run(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    with open_run(squad, *WHERE, "window", NOW):
        with pytest.raises(HeldByAnother, match="until then it can be looked at"):
            open_run(open_squad(squad.folder), *WHERE, "window", NOW)
        assert open_squad(squad.folder).load_run(*WHERE) == made.standard_run()
        open_run(squad, "M12", *WHERE[1:], "window", NOW).close()


def test_a_version_that_arrives_underneath_is_kept_and_told(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    with open_run(squad, *WHERE, "window", NOW) as held:
        theirs = RUN_FILE.write(made.standard_run("CD", 5.0))
        write_json(squad.run_path(*WHERE), theirs)
        held.save(made.standard_run("AB", 6.0))
        held.save(made.standard_run("AB", 7.0))

    assert len(held.notes) == 1
    assert "Another program changed “run-1” while it was open here" in held.notes[0]
    assert squad.load_run(*WHERE) == made.standard_run("AB", 7.0)
    assert len(list(squad.visit_folder(*WHERE[:2]).glob("run-1.elsewhere-*.json"))) == 1


def test_a_run_that_cannot_be_read_is_not_held(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    squad.run_path(*WHERE).write_text("torn", "utf-8")

    with pytest.raises(FileDamaged):
        open_run(squad, *WHERE, "window", NOW)
    with pytest.raises(NotThere):
        open_run(squad, "K07", "2026-03-14", "run-9", "window", NOW)
    assert not list(squad.folder.rglob("*.lock"))
