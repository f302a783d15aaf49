"""A squad's own card of tapping errors."""

from tapmark.store.choices import OwnError, SquadChoices


def test_each_marker_has_their_own_card() -> None:
    rows = (OwnError("AB", "hip", 2.4, 12), OwnError("CD", "hip", 1.9, 5))

    assert SquadChoices(tap_card=rows).own_errors("CD") == rows[1:]
    assert SquadChoices(tap_card=rows).own_errors("EF") == ()
