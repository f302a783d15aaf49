"""Free words change, choices and numbers do not."""

from tapmark.store import schema, tables
from tapmark.store.delete import with_texts
from tests.store import made


def test_only_free_words_are_passed_through() -> None:
    plain = schema.RUN_FILE.write(made.standard_run("clip"))
    plain["new"] = {"clip": ["clip", 3, None]}

    changed = with_texts(tables.RUN, plain, lambda text: text.replace("clip", "gone"))

    assert isinstance(changed, dict)
    assert changed["marked_by"] == "gone"
    assert changed["new"] == {"gone": ["gone", 3, None]}
    assert changed["source"]["kind"] == "stills"
    assert {**changed, "marked_by": 0, "new": 0} == {**plain, "marked_by": 0, "new": 0}


def test_a_value_of_the_wrong_shape_stays_as_it_is() -> None:
    odd = {"steps": "none", "set_up": [1], "source": {"path": 5}, "marked_by": None}

    assert with_texts(tables.RUN, odd, str.upper) == odd
