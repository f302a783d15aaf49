"""Undo and redo over frozen values."""

from tapmark.marks.history import LIMIT, History


def test_undo_and_redo_walk_back_and_forth() -> None:
    history = History(0)
    history.record("one", 1)
    history.record("two", 2)

    assert (history.undo(), history.undo()) == (1, 0)
    assert (history.redo(), history.redo()) == (1, 2)


def test_labels_name_what_would_be_undone_and_redone() -> None:
    history = History(0)
    history.record("place hip", 1)

    assert (history.undo_label, history.redo_label) == ("place hip", "")
    history.undo()
    assert (history.undo_label, history.redo_label) == ("", "place hip")


def test_the_ends_are_quiet() -> None:
    history = History(5)

    assert (history.undo(), history.redo(), history.undo_label) == (5, 5, "")


def test_a_new_edit_cuts_off_what_was_undone() -> None:
    history = History(0)
    history.record("one", 1)
    history.record("two", 2)
    history.undo()
    history.record("three", 3)

    assert history.redo() == 3
    assert (history.undo(), history.undo()) == (1, 0)


def test_an_edit_that_changes_nothing_is_not_kept() -> None:
    history = History((1, 2))

    assert history.record("same", (1, 2)) is False
    assert history.record("other", (1, 3)) is True
    assert history.undo_label == "other"


def test_a_drag_is_undone_in_one_step() -> None:
    history = History(0)
    for value in (1, 2, 3):
        history.record("drag hip", value, amend=True)

    assert history.value == 3
    assert history.undo() == 0


def test_a_drag_does_not_swallow_another_edit() -> None:
    history = History(0)
    history.record("place hip", 1)
    history.record("drag hip", 2, amend=True)
    history.record("drag hip", 3, amend=True)

    assert history.undo() == 1


def test_a_drag_after_undo_starts_anew() -> None:
    history = History(0)
    history.record("drag hip", 1, amend=True)
    history.undo()
    history.record("drag hip", 2, amend=True)

    assert history.undo() == 0
    assert history.redo() == 2


def test_old_values_are_forgotten_at_the_limit() -> None:
    history = History(0)
    for value in range(1, LIMIT + 50):
        history.record("edit", value)

    for _ in range(LIMIT * 2):
        history.undo()
    assert history.value == 50
