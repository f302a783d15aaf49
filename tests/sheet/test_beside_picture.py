"""Two runs as one picture: drawn, black on white, one row a run, nothing of a still in it."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from tapmark.errands.beside import RunPlace, beside
from tapmark.errors import NotThere
from tapmark.sheet.beside_content import BesideContent
from tapmark.sheet.beside_picture import beside_picture
from tests.errands.made import FIRST, SECOND, TODAY, agreed, place, run_of, squad_of


@pytest.fixture
def content(tmp_path: Path) -> BesideContent:
    visits = {"K07": [(FIRST, [run_of()]), (SECOND, [run_of("over", 3)])]}
    squad = squad_of(tmp_path / "squad", [agreed()], visits)
    places = RunPlace(place(squad)), RunPlace(place(squad, dated=SECOND))
    return beside(*places, date.fromisoformat(TODAY))


def test_each_run_has_a_row_with_a_figure_for_every_key_frame(content: BesideContent) -> None:
    picture = np.asarray(beside_picture(content, 1120).convert("L"))
    em = 1120 / 56

    assert picture.shape[1] == 1120
    for row in (0, 1):
        ground = round((12.6 * (row + 1) + 0.6) * em)
        band = picture[ground - round(8 * em) : ground - round(em)]
        for part in np.array_split(band, 5, axis=1):
            assert (part < 80).mean() > 0.01  # a solid near leg
    assert (picture > 250).mean() > 0.7


def test_runs_without_a_common_key_frame_are_told(content: BesideContent) -> None:
    with pytest.raises(NotThere, match="no key frame in common"):
        beside_picture(replace(content, events=()))
