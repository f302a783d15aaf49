"""The small map: what matters and its causes, the chosen one ringed, nothing on top of another."""

import pytest

from tapmark.checklist.criteria import load
from tapmark.checklist.verdict import (
    FINE,
    NEAR_THE_LINE,
    SEEN,
    Assessment,
    Chosen,
    ItemVerdict,
    Phrase,
)
from tapmark.report.drawing.chain_map import MOST_STATIONS, MapLook, chain_map
from tapmark.report.drawing.shapes import Label, Line, Ring
from tests.report.drawing_made import FONTS

CRITERIA = load()
LOOK = MapLook(3.88, 3.5, 9.5, 0.43, 0.9)
WIDTH = 180.0


def _assessment(words, chosen):
    items = tuple(
        ItemVerdict(n, CRITERIA.words.item(n), words.get(n, FINE), is_result=n in (13, 14))
        for n in range(1, 19)
    )
    slots = tuple(Chosen(items[n - 1], Phrase("", "", "", "")) for n in chosen)
    return Assessment((), items, (), slots, edges=CRITERIA.edges)


def _map(words, *chosen):
    return chain_map(_assessment(words, chosen), WIDTH, LOOK, FONTS.width)


EVERYTHING = dict.fromkeys(range(1, 19), SEEN)


def test_a_fine_athlete_has_no_map():
    drawn = _map({})
    assert (drawn.items, drawn.shapes, drawn.height) == ((), (), 0.0)


def test_direct_causes_stand_on_the_map_also_when_they_are_fine():
    drawn = _map({1: SEEN, 2: SEEN}, 1)
    assert {3, 8, 10, 12, 1, 2} <= set(drawn.items)


def test_what_is_fine_and_no_cause_stays_off_the_map():
    assert not {15, 16, 17, 18, 11} & set(_map({1: SEEN, 2: SEEN}, 1).items)


def test_twelve_faults_never_give_all_18():
    for chosen in range(1, 19):
        assert len(_map(EVERYTHING, chosen).items) <= MOST_STATIONS


def test_the_chosen_item_wears_a_ring_and_bold_type():
    drawn = _map({1: SEEN, 12: NEAR_THE_LINE}, 1)
    bold = [s.text for s in drawn.shapes if isinstance(s, Label) and s.is_bold]
    assert bold == ["Foot ahead of knee"]
    rings = [s for s in drawn.shapes if isinstance(s, Ring) and s.radius > LOOK.sign]
    assert len(rings) == 1


def test_lines_from_a_fine_item_are_light_and_others_heavy():
    drawn = _map({1: SEEN, 12: NEAR_THE_LINE, 2: SEEN}, 1)
    widths = {s.width for s in drawn.shapes if isinstance(s, Line) and len(s.points) >= 2}
    assert {LOOK.light, LOOK.heavy} <= widths
    only_fine = _map({1: SEEN}, 1)
    heavy = [s for s in only_fine.shapes if isinstance(s, Line) and s.width == LOOK.heavy]
    assert heavy == []


@pytest.mark.parametrize("chosen", range(1, 19))
@pytest.mark.parametrize("words", [EVERYTHING, {1: SEEN, 2: SEEN, 4: NEAR_THE_LINE}])
def test_names_neither_touch_nor_leave_the_page(words, chosen):
    labels = [s for s in _map(words, chosen).shapes if isinstance(s, Label)]
    boxes = []
    for label in labels:
        (x, y), wide = label.point, FONTS.width(label.text, label.size, label.is_bold)
        boxes.append((x, x + wide, y - 0.7 * label.size, y + 0.2 * label.size))
    for i, a in enumerate(boxes):
        assert a[0] >= 0
        assert a[1] <= WIDTH + 2.0, labels[i].text
        for b in boxes[i + 1 :]:
            assert not (a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3])


@pytest.mark.parametrize("chosen", range(1, 19))
def test_the_map_keeps_within_its_height(chosen):
    drawn = _map(EVERYTHING, chosen)
    for shape in drawn.shapes:
        for _, y in getattr(shape, "points", ()):
            assert -1.0 <= y <= drawn.height + 1.0
