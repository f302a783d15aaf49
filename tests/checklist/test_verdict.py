"""What a verdict says when nobody said more: the careful side, nothing special."""

from tapmark.checklist.situation import Situation
from tapmark.checklist.verdict import (
    FINE,
    Assessment,
    Band,
    Chosen,
    ItemVerdict,
    Phrase,
    RowVerdict,
)
from tests.checklist.made import CRITERIA, TODAY, measured


def test_whoever_nobody_knows_anything_of_is_a_youth_on_a_first_sheet_with_pain_unasked() -> None:
    unknown = Situation(TODAY)

    assert unknown.is_youth(CRITERIA.choice) and not unknown.is_under(18)
    assert unknown.is_first_sheet and not unknown.has_grown
    assert (unknown.pain, unknown.clearance, unknown.slots) == ("not answered", "", None)
    assert (unknown.n_drills, unknown.is_quiet(CRITERIA.choice)) == (0, False)


def test_an_assessment_of_nothing_is_a_youths_without_checklist_or_question() -> None:
    bare = Assessment((), (), (), ())

    assert bare.is_youth and not bare.shows_checklist and not bare.lacks_reason
    assert (bare.most_slots, bare.blocked, bare.heading) == (2, "", "")


def test_a_word_alone_claims_nothing_more() -> None:
    row = RowVerdict(measured("reach", 3), FINE)
    item = ItemVerdict(1, "Foot ahead of knee", FINE)
    chosen = Chosen(item, Phrase("", "", "", ""))

    assert (row.excess, row.margin, row.n_marked, row.band) == (0.0, 0.0, 1, None)
    assert not (item.is_result or item.once or item.is_capped or chosen.is_override)


def test_a_band_is_graded_and_needs_no_speed_unless_it_says_so() -> None:
    band = Band(key="reach", context="sprint")

    assert not band.is_trend_only and not band.needs_speed
