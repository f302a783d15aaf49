"""Numbers in a file that pass for numbers: refused on reading, or measured without inf or crash."""

import copy
import json
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tapmark.errors import FileDamaged
from tapmark.measures.compute import measure_run
from tapmark.services.measuring import as_dict
from tapmark.store import schema

EXAMPLE = Path(__file__).parents[1] / "files" / "format2" / "run-side.json"
WILD = (1e-300, 5e-324, 1e-12, 1e-9, 1e6, 1e12, -1e12)
NAMED = ("slow_factor", "leg_cm", "interval_s", "time_s", "camera_distance_m", "scale_m")


def numbers_in(plain: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The way to every number of set-up, source and first key frames."""
    inside = plain.items() if isinstance(plain, dict) else enumerate(plain)
    for key, value in inside:
        if isinstance(value, dict | list):
            yield from numbers_in(value, (*way, key))
        elif isinstance(value, int | float) and not isinstance(value, bool):
            yield (*way, key)


def with_number(way: tuple[Any, ...], value: float) -> Any:
    plain: Any = copy.deepcopy(PLAIN)
    inner = plain
    for part in way[:-1]:
        inner = inner[part]
    inner[way[-1]] = value
    return plain


PLAIN = json.loads(EXAMPLE.read_text("utf-8"))
WAYS = [way for way in numbers_in(PLAIN) if "taps" not in way]


def test_the_example_has_every_number_that_is_divided_by() -> None:
    assert {way[-1] for way in WAYS} >= set(NAMED)


@pytest.mark.parametrize("way", WAYS, ids=lambda way: ".".join(map(str, way)))
def test_a_wild_number_is_refused_or_measured_whole(way: tuple[Any, ...]) -> None:
    for value in WILD:
        try:
            run = schema.RUN_FILE.read(with_number(way, value))
        except FileDamaged as refused:
            assert str(refused).isprintable()
            continue
        with warnings.catch_warnings():
            warnings.simplefilter("error", RuntimeWarning)
            json.dumps(as_dict(measure_run(run)), allow_nan=False)


@pytest.mark.parametrize("key", NAMED)
def test_what_nothing_can_be_divided_by_is_refused_by_its_key(key: str) -> None:
    way = next(way for way in WAYS if way[-1] == key)

    with pytest.raises(FileDamaged, match=rf"{key} is 1e-300, but should be a number from"):
        schema.RUN_FILE.read(with_number(way, 1e-300))
