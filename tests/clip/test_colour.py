"""HDR tables against points that the Recommendations themselves print."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from tapmark.clip.colour import matrix_to_assume, table_text, to_screen, write_table


def grey(signal: float, hdr: str) -> float:
    row = to_screen(np.array([[signal, signal, signal]]), hdr)[0]
    assert row.max() - row.min() < 1e-4, "grey stays grey"
    return float(row[0])


@pytest.mark.parametrize(("hdr", "signal"), [("hlg", 0.75), ("pq", 0.58)])
def test_reference_white_becomes_white(hdr: str, signal: float) -> None:
    """BT.2408, table 1: diffuse white lies at 75 % HLG and 58 % PQ."""
    assert grey(signal, hdr) == pytest.approx(0.97, abs=0.02)


@pytest.mark.parametrize(("hdr", "signal"), [("hlg", 0.38), ("pq", 0.38)])
def test_an_18_percent_card_becomes_middle_grey(hdr: str, signal: float) -> None:
    """BT.2408, table 1: a grey card of 18 % lies at 38 % in HLG and in PQ: 26 cd/m²."""
    assert grey(signal, hdr) == pytest.approx((26 / 203) ** (1 / 2.4), abs=0.01)


@pytest.mark.parametrize("hdr", ["hlg", "pq"])
def test_black_is_black_nothing_passes_white_and_brighter_stays_brighter(hdr: str) -> None:
    values = [grey(signal, hdr) for signal in np.linspace(0, 1, 101)]

    assert values[0] == 0.0
    assert values[-1] <= 1.0
    assert all(a <= b for a, b in pairwise(values))


def test_table_has_red_running_fastest(tmp_path: Path) -> None:
    """The order of the .cube format (its specification 1.0)."""
    write_table("hlg", tmp_path)
    text = next(tmp_path.glob("*.cube")).read_text()
    rows = [[float(x) for x in line.split()] for line in text.splitlines()[1:]]

    assert text == table_text("hlg")
    assert len(rows) == 33**3
    assert rows[32][0] > rows[32][1], "the 33rd entry is full red"
    assert rows[-1] == pytest.approx([1, 1, 1], abs=0.01)


def test_large_clips_that_name_no_matrix_are_taken_as_players_take_them() -> None:
    assert (
        matrix_to_assume("unknown", (1280, 720)),
        matrix_to_assume("unknown", (640, 480)),
        matrix_to_assume("smpte170m", (1920, 1080)),
    ) == ("bt709", "", "")
