"""Each kind takes what it says and nothing else."""

import pytest
from hypothesis import given, settings

from tapmark.kinds import Day, Flag, Kind, NotAsExpected, Number, OneOf, Text, Whole, is_day
from tests.examples import examples
from tests.store import made

NOT_NEAR = "a number from -1 to 1, 0 or at least 0.1 away from it"
TAKEN = [
    (Number(0, 10), 3, 3.0),
    (Number(0, 10), 0.0, 0.0),
    (Number(-1, 1, nearest=0.1), 0.1, 0.1),
    (Number(-1, 1, nearest=0.1), 0, 0.0),
    (Whole(1, 18), 18, 18),
    (Whole(1, 18), 3.0, 3),
    (Flag(), False, False),
    (OneOf(("a", "b")), "b", "b"),
    (Text(3), "äöü", "äöü"),
    (Day(), "", ""),
    (Day(), "2024-02-29", "2024-02-29"),
]
REFUSED = [
    (Number(0, 10), True, "a number from 0 to 10"),
    (Number(0, 10), "3", "a number from 0 to 10"),
    (Number(0, 10), 10.1, "a number from 0 to 10"),
    (Number(0, 10), float("nan"), "a number from 0 to 10"),
    (Number(0, 10), float("inf"), "a number from 0 to 10"),
    (Number(0, 10), 10**400, "a number from 0 to 10"),
    (Number(-1, 1, nearest=0.1), -0.01, NOT_NEAR),
    (Whole(1, 18), 0, "a whole number from 1 to 18"),
    (Whole(1, 18), 2.5, "a whole number from 1 to 18"),
    (Whole(1, 18), True, "a whole number from 1 to 18"),
    (Whole(1, 18), float("inf"), "a whole number from 1 to 18"),
    (Flag(), 1, "true or false"),
    (OneOf(("a", "b")), "c", "one of “a”, “b”"),
    (OneOf(("a", "b")), ["a"], "one of “a”, “b”"),
    (Text(3), "four", "text of at most 3 letters"),
    (Text(), None, "text of at most 20000 letters"),
    (Text(), "a\ud800", "text without broken letters"),
    (Day(may_be_empty=False), "", "a date like 2026-05-14"),
    (Day(), "2025-02-29", "a date like 2026-05-14"),
    (Day(), 20260514, "a date like 2026-05-14"),
]


@pytest.mark.parametrize(("kind", "value", "ours"), TAKEN)
def test_a_kind_takes_its_values_and_writes_them_back(
    kind: Kind, value: object, ours: object
) -> None:
    read = kind.read(value, [])

    assert (read, type(read)) == (ours, type(ours))
    assert kind.write(read) == value


@pytest.mark.parametrize(("kind", "value", "expected"), REFUSED)
def test_a_kind_refuses_everything_else_and_says_what_it_takes(
    kind: Kind, value: object, expected: str
) -> None:
    with pytest.raises(NotAsExpected) as caught:
        kind.read(value, [])

    assert caught.value.expected == expected


@settings(max_examples=examples(100))
@given(made.days)
def test_every_date_is_a_day(day: str) -> None:
    assert is_day(day)
    assert not is_day(day + "\n")
    assert not is_day(day.replace("-", ""))
