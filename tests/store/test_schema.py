"""Reading and writing each kind of file; jsonschema is the outside check of the tables."""

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.errors import FileDamaged, FileTooNew
from tapmark.kinds import NotAsExpected
from tapmark.marks.people import Athlete
from tapmark.marks.run import Run
from tapmark.store import schema, tables
from tests.examples import examples
from tests.store import made
from tests.store.write_schemas import SCHEMAS, json_schema

KINDS = {
    "run": (schema.RUN_FILE.read, schema.RUN_FILE.write, made.runs()),
    "visit": (schema.VISIT_FILE.read, schema.VISIT_FILE.write, made.visits),
    "athlete": (schema.ATHLETE_FILE.read, schema.ATHLETE_FILE.write, made.athletes),
    "squad": (schema.SQUAD_FILE.read, schema.SQUAD_FILE.write, made.choices),
    "shots": (schema.SHOTS_FILE.read, schema.SHOTS_FILE.write, made.shot_lists),
}
each_kind = pytest.mark.parametrize("kind", KINDS)


@each_kind
@settings(max_examples=examples(20))
@given(data=st.data())
def test_what_was_written_is_read_back_as_it_was(kind: str, data: st.DataObject) -> None:
    from_plain, to_plain, values = KINDS[kind]
    value = data.draw(values)

    plain = json.loads(json.dumps(to_plain(value)))

    assert from_plain(plain) == value
    assert plain["format"] == schema.FORMAT


@each_kind
@settings(max_examples=examples(20))
@given(data=st.data())
def test_any_change_to_a_file_gives_a_value_or_says_what_is_wrong(
    kind: str, data: st.DataObject
) -> None:
    from_plain, to_plain, values = KINDS[kind]
    plain = json.loads(json.dumps(to_plain(data.draw(values))))
    way = data.draw(st.sampled_from(made.places(plain)))
    broken = made.changed(plain, way, data.draw(made.junk))

    try:
        value = from_plain(broken, "file.json")
    except (FileDamaged, FileTooNew) as error:
        assert "file.json" in str(error)
        assert "\n" not in str(error)
    else:
        assert from_plain(to_plain(value)) == value


@each_kind
@settings(max_examples=examples(20))
@given(data=st.data())
def test_the_published_schema_accepts_exactly_what_is_read(kind: str, data: st.DataObject) -> None:
    """JSON Schema draft 2020-12, by the jsonschema package; real dates are ours alone."""
    _, to_plain, values = KINDS[kind]
    published = json.loads((SCHEMAS / f"{kind}.json").read_text("utf-8"))
    plain = json.loads(json.dumps(to_plain(data.draw(values))))
    way = data.draw(st.sampled_from(made.places(plain)[1:]).filter(lambda w: w != ("format",)))
    broken = made.changed(plain, way, data.draw(made.scalars | st.just([]) | st.just({})))

    is_valid = jsonschema.Draft202012Validator(published).is_valid(broken)

    assert is_valid == _is_read(kind, broken)


def _is_read(kind: str, plain: object) -> bool:
    body = schema.upgraded(plain, "x")
    try:
        tables.FILES[kind].read(body, [])
    except NotAsExpected:
        return False
    return True


@each_kind
def test_the_published_schema_is_the_one_of_the_tables(kind: str) -> None:
    published = json.loads((SCHEMAS / f"{kind}.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(published)

    ours = json.loads(json.dumps(json_schema(f"Tapmark {kind}", tables.FILES[kind])))

    assert published == ours, "run: python -m tests.store.write_schemas"


UNKNOWN_WAYS = [
    ("weather",),
    ("set_up", "weather"),
    ("source", "a/b~c"),
    ("steps", 0, "weather"),
    ("steps", 0, "key_frames", 2, "weather"),
    ("steps", 0, "key_frames", 4, "taps", 3, "weather"),
    ("/odd",),
]


@pytest.mark.parametrize("way", UNKNOWN_WAYS)
def test_a_key_of_a_later_version_is_kept_where_it_was(way: tuple[object, ...]) -> None:
    plain = json.loads(json.dumps(schema.RUN_FILE.write(made.standard_run())))
    plain = made.changed(plain, way, {"wet": [1, None, "é"]})

    run = schema.RUN_FILE.read(plain)

    assert schema.RUN_FILE.write(run) == plain
    assert len(run.extra) == 1


def test_an_unknown_key_goes_with_the_tap_it_belonged_to() -> None:
    plain = json.loads(json.dumps(schema.RUN_FILE.write(made.standard_run())))
    plain["steps"][0]["key_frames"][0]["taps"][2]["pressure"] = 0.5
    run = schema.RUN_FILE.read(plain)
    step = run.steps[0]
    without = replace(step, key_frames=step.key_frames[1:])

    saved = schema.RUN_FILE.write(replace(run, steps=(without,)))

    assert "pressure" not in json.dumps(saved)


@pytest.mark.parametrize("number", [schema.FORMAT + 1, schema.FORMAT + 2, 10**30])
def test_a_newer_format_is_refused_with_both_numbers(number: int) -> None:
    with pytest.raises(FileTooNew, match=r"“run-3.json” was saved by a newer Tapmark.*reads up to"):
        schema.RUN_FILE.read({"format": number, "steps": "whatever"}, "run-3.json")


@pytest.mark.parametrize("number", [True, "1", 1.0, None, 0, -4, [1]])
def test_a_format_that_never_was_is_damage(number: object) -> None:
    with pytest.raises(FileDamaged, match="format"):
        schema.RUN_FILE.read({"format": number})


def test_upgrades_are_chained_one_format_at_a_time() -> None:
    """Formats 0 and 2 are invented: 0 had no context, 2 calls the wind a number."""
    chain = {
        0: lambda body: {**body, "context": "sprint"},
        1: lambda body: {**{k: v for k, v in body.items() if k != "wind"}, "wind_mps": 1.5},
    }
    old = {"format": 0, "wind": "calm"}

    assert schema.upgraded(old, "x", chain, 1) == {"wind": "calm", "context": "sprint"}
    assert schema.upgraded(old, "x", chain, 2) == {"context": "sprint", "wind_mps": 1.5}
    assert schema.upgraded({"format": 2, "a": 1}, "x", chain, 2) == {"a": 1}
    assert old == {"format": 0, "wind": "calm"}


DAMAGED = [
    ((), [], "has no format number"),
    (("steps",), [], "steps is a list, but should be a list of 1 to 100"),
    (("steps", 0, "key_frames", 1, "picture"), "three", "key_frames → mid-stance → picture is"),
    (("steps", 0, "key_frames", 1, "picture"), -1, "is -1, but should be a whole number from 0"),
    (("steps", 0, "key_frames", 0, "event"), "jump", "is “jump”, but should be one of “touchdown”"),
    (("steps", 0, "key_frames", 0, "taps", 0, "at_px"), [1], "at_px is a list, but should be"),
    (("steps", 0, "key_frames", 0, "taps", 0, "at_px"), None, "“sure”, but has no place"),
    (("steps", 0, "key_frames", 0, "taps", 0, "certainty"), "hidden", "has a place all the same"),
    (("steps", 0, "key_frames", 0, "taps", 0, "point"), "elbow", "elbow was tapped twice"),
    (("steps", 0, "key_frames", 0, "event"), "toe-off", "“toe-off” comes twice"),
    (("steps", 0, "key_frames", 0, "event"), "most turned", "no key frame “most turned”"),
    (("steps", 0, "key_frames", 0, "picture"), 500, "Touchdown (frame 501) must come before"),
    (("steps", 0, "key_frames", 0, "taps", 0, "at_px"), [1281, 5], "lies outside the frame"),
    (("set_up", "scale_m"), 0, "should be a number from 0.001 to 10000"),
    (("set_up", "context"), "sprint\x07\n", "is “sprint??”"),
    (("view",), "top", "view is “top”"),
    (("free_marks",), [{"kind": "line", "picture": 1, "at_px": [[1, 2]]}], "1 places, not 2"),
    (("free_marks",), [{"kind": "note", "picture": 1, "at_px": [[1, 2]]}], "has no words"),
    (("free_marks",), [{"kind": "arc", "picture": 1, "at_px": [[1, 2]]}], "kind is “arc”"),
    (("paths",), [{"point": "hip", "places": []}] * 2, "hip has two paths"),
    (("paths",), [{"point": "nose", "places": []}], "point is “nose”"),
    (
        ("paths",),
        [{"point": "hip", "places": [{"picture": 3, "at_px": [1, 2]}] * 2}],
        "the path of the hip is not in order",
    ),
    (
        ("paths",),
        [{"point": "hip", "places": [{"picture": 3, "at_px": [1, 721]}]}],
        "the path of the hip at (1, 721) lies outside",
    ),
    (("marked_by",), "x" * 300, "at most 200 letters"),
]


@pytest.mark.parametrize(("way", "value", "words"), DAMAGED)
def test_a_damaged_value_is_named_with_its_key(
    way: tuple[object, ...], value: object, words: str
) -> None:
    plain = json.loads(json.dumps(schema.RUN_FILE.write(made.standard_run())))

    with pytest.raises(FileDamaged) as caught:
        schema.RUN_FILE.read(made.changed(plain, way, value), "run-1.json")

    assert words in str(caught.value)
    assert str(caught.value).startswith("“run-1.json”")


def test_broken_letters_are_refused() -> None:
    with pytest.raises(FileDamaged, match="broken letters"):
        schema.ATHLETE_FILE.read({"format": 1, "code": "K07", "notes": "\ud800"})


def test_endless_nesting_in_an_unknown_key_is_refused() -> None:
    deep: object = 1
    for _ in range(200):
        deep = [deep]

    with pytest.raises(FileDamaged, match="levels"):
        schema.ATHLETE_FILE.read({"format": 1, "code": "K07", "new": deep})


def test_missing_keys_take_their_defaults() -> None:
    assert schema.RUN_FILE.read({"format": 1}) == Run()
    assert schema.ATHLETE_FILE.read({"format": 1, "code": "K07"}) == Athlete("K07")


KEPT_FOR_EVER = sorted((Path(__file__).parents[1] / "files").glob("format*/*.json"))


@pytest.mark.parametrize("path", KEPT_FOR_EVER, ids=lambda path: f"{path.parent.name} {path.stem}")
def test_a_file_of_every_format_still_opens_and_keeps_every_value(path: Path) -> None:
    plain = json.loads(path.read_text("utf-8"))
    from_plain, to_plain, _ = KINDS[path.stem.split("-")[0]]

    written = to_plain(from_plain(plain, path.name))

    assert _keeps(plain, written)


def test_a_run_of_format_1_has_no_lines_and_is_written_back_in_format_2() -> None:
    path = next(
        path for path in KEPT_FOR_EVER if path.parent.name == "format1" and "side" in path.stem
    )

    run = schema.RUN_FILE.read(json.loads(path.read_text("utf-8")))

    assert (run.free_marks, run.paths) == ((), ())
    assert schema.RUN_FILE.write(run)["format"] == 2


@pytest.mark.parametrize("number", range(1, schema.FORMAT + 1))
def test_the_files_of_every_format_are_there(number: int) -> None:
    kept = {path.stem for path in KEPT_FOR_EVER if path.parent.name == f"format{number}"}

    assert kept >= set(KINDS) - {"run"} | {"run-side"}


def _keeps(old: object, new: object) -> bool:
    """Whether everything in the old value stands in the new one, format apart."""
    if isinstance(old, dict):
        return isinstance(new, dict) and all(
            key == "format" or (key in new and _keeps(item, new[key])) for key, item in old.items()
        )
    if isinstance(old, list):
        return isinstance(new, list) and len(old) == len(new) and all(map(_keeps, old, new))
    return old == new
