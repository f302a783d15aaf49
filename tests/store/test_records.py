"""Lists and objects, and the keys of later versions inside them."""

from dataclasses import dataclass

import pytest

from tapmark.kinds import (
    DEEPEST,
    Found,
    Many,
    Maybe,
    NotAsExpected,
    Record,
    Text,
    Tuple,
    Whole,
    member_name,
)


@dataclass(frozen=True)
class Shoe:
    event: str
    size: int | None = None


SHOE = Record(Shoe, {"event": Text(), "size": Maybe(Whole(20, 60))})
SHELF = Many(SHOE, fewest=1, most=2)


def test_missing_keys_take_the_defaults_and_needed_ones_are_missed() -> None:
    assert SHOE.read({"event": "sprint"}, []) == Shoe("sprint")
    with pytest.raises(NotAsExpected) as caught:
        SHOE.read({"size": 42}, [])
    assert caught.value.expected == "an object with the key “event”"


@pytest.mark.parametrize("n", [0, 3])
def test_a_list_has_its_fewest_and_most(n: int) -> None:
    with pytest.raises(NotAsExpected) as caught:
        SHELF.read([{"event": "a"}] * n, [])
    assert caught.value.expected == "a list of 1 to 2"


def test_the_way_to_a_wrong_value_is_noted_from_outside_in() -> None:
    with pytest.raises(NotAsExpected) as caught:
        SHELF.read([{"event": "a"}, {"event": "b", "size": 7}], [])
    assert caught.value.way == ["b", "size"]


def test_strange_keys_are_gathered_with_the_way_to_them() -> None:
    found: Found = []

    Tuple((SHOE, SHELF)).read([{"event": "a", "x": 1}, [{"event": "b", "y": [2]}]], found)

    assert found == [(("0", "x"), 1), (("1", "b", "y"), [2])]


def test_a_row_has_its_own_length() -> None:
    with pytest.raises(NotAsExpected):
        Tuple((Text(), Text())).read(["a"], [])
    assert Tuple((Text(), Whole())).write(("a", 1)) == ["a", 1]


def test_nesting_ends_somewhere() -> None:
    def nested(n: int) -> object:
        return [nested(n - 1)] if n else 1

    found: Found = []
    SHOE.read({"event": "a", "x": nested(DEEPEST - 1)}, found)
    assert len(found) == 1
    with pytest.raises(NotAsExpected, match="levels"):
        SHOE.read({"event": "a", "x": nested(DEEPEST)}, found)


def test_members_are_called_by_event_point_limb_or_place() -> None:
    assert member_name({"point": "hip", "event": 5}, 3) == "hip"
    assert member_name({"limb": "lead thigh"}, 3) == "lead thigh"
    assert member_name({"use": "film"}, 3) == "3"
    assert member_name("hip", 0) == "0"
