"""One entry of a bands or words file: read as its kind, or refused with its key."""

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tapmark.checklist.reading import Table, read
from tapmark.errors import CriteriaUnreadable


def table(value: Any) -> Table:
    return Table("checks.toml", "item 1", {"entry": value})


def read_as(kind: str, value: Any) -> Any:
    return getattr(table(value), kind)("entry")


@pytest.mark.parametrize(
    ("kind", "value", "expected"),
    [
        ("text", "a word", "a word"),
        ("number", 3, 3.0),
        ("number", -0.5, -0.5),
        ("whole", 4, 4),
        ("whole", 4.0, 4),
        ("truth", True, True),
        ("truth", False, False),
        ("day", date(2026, 11, 25), date(2026, 11, 25)),
        ("texts", ["a", "b"], ("a", "b")),
        ("texts", [], ()),
        ("wholes", [1, 2], (1, 2)),
    ],
)
def test_an_entry_is_read_as_its_kind(kind: str, value: object, expected: object) -> None:
    found = read_as(kind, value)

    assert (expected, type(expected)) == (found, type(found))


@pytest.mark.parametrize(
    ("kind", "value"),
    [
        *(("text", value) for value in (3, True, ["a"])),
        *(("number", value) for value in ("3", True, float("nan"), float("inf"), [3])),
        *(("whole", value) for value in (2.5, "2", True)),
        *(("truth", value) for value in ("true", 1, 0)),
        *(("day", value) for value in ("2026-11-25", 20261125)),
        *(("texts", value) for value in ("a", ["a", 1], {"a": "b"}, 3)),
        *(("wholes", value) for value in (1, ["1"], [1, True], [1, 2.0], {})),
        *(("table", value) for value in ("a", [1], [{}], 3)),
        *(("tables", value) for value in ("a", "", 3, [{}, 1], [1], ["a"])),
    ],
)
def test_another_kind_is_refused_with_file_and_key(kind: str, value: object) -> None:
    with pytest.raises(CriteriaUnreadable, match=r"checks\.toml: “item 1\.entry” should be"):
        read_as(kind, value)


@pytest.mark.parametrize("kind", ["text", "number", "whole", "day"])
def test_an_entry_that_must_be_there_is_missed(kind: str) -> None:
    with pytest.raises(CriteriaUnreadable, match=r"“item 1\.other” is missing\. Add it\."):
        getattr(table("a"), kind)("other")


def test_an_entry_that_may_be_left_out_is_empty_then() -> None:
    here = table("a")

    assert here.truth("other") is False
    assert here.texts("other") == here.wholes("other") == here.tables("other") == ()
    assert here.table("other") == Table("checks.toml", "item 1.other", {})


def test_one_table_counts_as_a_list_of_one_and_several_are_numbered_from_one() -> None:
    alone, both = table({"a": 1}), table([{"a": 1}, {"a": 2}])

    assert [(t.at, t.values) for t in alone.tables("entry")] == [("item 1.entry", {"a": 1})]
    assert [(t.at, t.values) for t in both.tables("entry")] == [
        ("item 1.entry 1", {"a": 1}),
        ("item 1.entry 2", {"a": 2}),
    ]


def test_only_known_entries_may_stand_there() -> None:
    table("a").refuse_others(("entry", "other"))
    with pytest.raises(CriteriaUnreadable, match=r"is not known here\. Known are: other\."):
        table("a").refuse_others(("other",))


@pytest.mark.parametrize(
    ("line", "trouble"),
    [
        ("format = 2", "is 2, and this Tapmark reads up to 1. Update Tapmark."),
        ("format = 0", "should be 1, not 0."),
        ("format = 1.5", "should be a whole number"),
        ("", "is missing"),
    ],
)
def test_a_file_of_another_format_is_refused(tmp_path: Path, line: str, trouble: str) -> None:
    (tmp_path / "mine.toml").write_text(line, "utf-8")

    with pytest.raises(CriteriaUnreadable, match=f"checks.toml: “format” {trouble}"):
        read(tmp_path / "mine.toml", "checks.toml")


def test_a_file_of_format_1_is_read_and_named_as_it_is_shown(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text("format = 1\nword = 'a'", "utf-8")

    assert (lambda t: (t.file, t.at, t.text("word")))(read(tmp_path / "mine.toml")) == (
        "mine.toml",
        "",
        "a",
    )
