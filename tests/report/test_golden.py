"""Pages against what was looked at and kept: same words, same shapes, same places."""

import pytest

from tests.report.golden import FOLDER, pages, written

NEAR_MM = 0.25  # hinting of letters differs a little between versions of FreeType
NAMES = sorted(path.stem for path in FOLDER.glob("*.txt"))


@pytest.fixture(scope="module")
def now():
    """Every page as it is set now."""
    return {name: written(shapes) for name, shapes in pages()}


def parts(line):
    """Kind, numbers and the rest of a line."""
    kind, *numbers = line.split(" | ", 1)[0].split()
    return kind, line.split(" | ", 1)[1], [float(each) for each in numbers]


def test_every_page_that_is_set_was_kept(now):
    assert sorted(now) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_words_and_shapes_are_those_that_were_kept(name, now):
    kept = (FOLDER / f"{name}.txt").read_text("utf-8").splitlines()
    seen = [parts(line)[:2] for line in now[name]]
    assert seen == [parts(line)[:2] for line in kept], (
        "look at it; then python -m tests.report.golden"
    )


@pytest.mark.parametrize("name", NAMES)
def test_everything_stands_where_it_stood(name, now):
    kept = (FOLDER / f"{name}.txt").read_text("utf-8").splitlines()
    away = [
        (line, here)
        for line, here in zip(kept, now[name], strict=True)
        if parts(here)[2] != pytest.approx(parts(line)[2], abs=NEAR_MM)
    ]
    assert away == []
