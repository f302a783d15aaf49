"""Two runs as one picture: drawn, black on white, one row a run, nothing of a still in it."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from tapmark.errors import NotThere
from tapmark.report.pages.content import CompareContent
from tapmark.report.pages.pictures import ON_PHONE
from tapmark.report.pages.plots import compare_picture
from tapmark.services.pictures import RunPlace, compare
from tests.services.made import FIRST, SECOND, TODAY, agreed, place, run_of, squad_of


@pytest.fixture
def content(tmp_path: Path) -> CompareContent:
    visits = {"K07": [(FIRST, [run_of()]), (SECOND, [run_of("over", 3)])]}
    squad = squad_of(tmp_path / "squad", [agreed()], visits)
    places = RunPlace(place(squad)), RunPlace(place(squad, dated=SECOND))
    return compare(*places, date.fromisoformat(TODAY))


def test_each_run_has_a_row_with_a_figure_for_every_key_frame(content: CompareContent) -> None:
    picture = np.asarray(compare_picture(content).convert("L"))
    unit = ON_PHONE / 56

    assert picture.shape[1] == ON_PHONE
    for row in (0, 1):
        ground = round((12.6 * (row + 1) + 0.6) * unit)
        band = picture[ground - round(8 * unit) : ground - round(unit)]
        for part in np.array_split(band, 5, axis=1):
            assert (part < 80).mean() > 0.01  # a solid near leg
    assert (picture > 250).mean() > 0.7


def test_runs_without_a_common_key_frame_are_told(content: CompareContent) -> None:
    with pytest.raises(NotThere, match="no key frame in common"):
        compare_picture(replace(content, events=()))
