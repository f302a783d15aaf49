"""A word for every row: seen, likely, near the line, fine, can't tell, not measured, or only shown.

A value is judged with its known bias taken off; u is the standard uncertainty of what is left
(Measured.u_corrected). In this order:
    seen           past a limit by more than 1.64 u (one-sided 95 % of a normal distribution)
    likely         past a limit by more than 0.84 u (one-sided 80 %)
    fine           inside the fine band, and every limit more than 1.64 u away
    can't tell     1.96 u is wider than the gap from fine to limit on the nearest side
    near the line  everything else
"""

from dataclasses import replace

from tapmark.checklist.criteria import Criteria
from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    LIKELY,
    NEAR_THE_LINE,
    NOT_MEASURED,
    PAST,
    SEEN,
    SHOWN,
    Band,
    RowVerdict,
)
from tapmark.measures.result import Z90, Z95, Measured, NotMeasured, Result, Results

Z60 = 0.84  # one-sided 80 %

HIGH, LOW = "high", "low"


def judge_rows(results: Results, criteria: Criteria) -> tuple[RowVerdict, ...]:
    """Return the verdict of every row of a run, in the order of the run's rows."""
    return tuple(_judge(row, results, criteria) for row in results.rows.values())


def _judge(row: Result, results: Results, criteria: Criteria) -> RowVerdict:
    band = criteria.band(row.key, results.graded_as)
    if isinstance(row, NotMeasured):
        verdict = RowVerdict(row, NOT_MEASURED, band=band, why=row.reason)
    elif why := _only_shown(row, band, results, criteria):
        verdict = RowVerdict(row, SHOWN, why=why)
    elif row.not_graded:
        verdict = RowVerdict(row, NOT_MEASURED, band=band, why=row.not_graded)
    else:
        assert band is not None
        verdict = judge_value(row, band)
        if band.is_capped:
            verdict = _capped(verdict, criteria.words.say("why.row_never_past"))
    return replace(verdict, foot=results.foot(row.leg), n_marked=results.n_steps)


def _only_shown(row: Measured, band: Band | None, results: Results, criteria: Criteria) -> str:
    say = criteria.words.say
    if band is None:
        return say("why.row_shown")
    if criteria.is_off(row.key, results.graded_as):
        return say("why.row_off", context=results.context)
    if band.is_trend_only:
        return say("why.row_trend")
    if band.needs_speed and not results.is_fast:
        return say("why.row_slow")
    if row.n_steps < band.least_steps:
        return say("why.row_steps", n=band.least_steps, had=row.n_steps)
    if band.only_if and not _reaches(band.only_if, row.leg, results):
        return say("why.row_gate", row=criteria.words.row(band.only_if[0]))
    return ""


def _reaches(gate: tuple[str, float], leg: str, results: Results) -> bool:
    key, least = gate
    found = (results.rows.get((key, each)) for each in (leg, "", "near", "far"))
    other = next((row for row in found if isinstance(row, Measured)), None)
    return other is not None and other.value >= least


def judge_value(row: Measured, band: Band) -> RowVerdict:
    """Return the verdict of a value that may be graded by a band."""
    side = nearest_side(row.corrected, band)
    low, high = side_word(row, band, LOW), side_word(row, band, HIGH)
    words = {low, high} - {""}
    word = FINE if words == {FINE} else low if side == LOW else high
    word = next((past for past in PAST if past in words), word)
    verdict = RowVerdict(
        row,
        word,
        side="" if word == FINE else side,
        excess=-_room(row.corrected, band, side, "limit") / row.u_corrected,
        margin=min(_room(row.corrected, band, each, "fine") for each in _closed_sides(band))
        / row.u_corrected,
        band=band,
        low=low,
        high=high,
    )
    return _capped(verdict, row.capped) if row.capped else verdict


def _capped(verdict: RowVerdict, why: str) -> RowVerdict:
    def cap(word: str) -> str:
        return NEAR_THE_LINE if word in PAST else word

    return replace(
        verdict, word=cap(verdict.word), low=cap(verdict.low), high=cap(verdict.high), why=why
    )


def side_word(row: Measured, band: Band, side: str) -> str:
    """Return the word for one side of a band alone, "" where that side is open."""
    fine, limit = _edge(band, side, "fine"), _edge(band, side, "limit")
    if fine is None or limit is None:
        return ""
    to_limit = _room(row.corrected, band, side, "limit")
    if -to_limit > Z90 * row.u_corrected:
        return SEEN
    if -to_limit > Z60 * row.u_corrected:
        return LIKELY
    if _room(row.corrected, band, side, "fine") >= 0 and to_limit > Z90 * row.u_corrected:
        return FINE
    return CANT_TELL if Z95 * row.u_corrected > abs(limit - fine) else NEAR_THE_LINE


def nearest_side(value: float, band: Band) -> str:
    """Return "low" or "high": the side whose limit is nearest to the value or passed."""
    return min(_closed_sides(band), key=lambda side: _room(value, band, side, "limit"))


def gap(band: Band, side: str) -> float:
    """Return the width between the fine edge and the limit on a closed side."""
    fine, limit = _edge(band, side, "fine"), _edge(band, side, "limit")
    assert fine is not None and limit is not None
    return abs(limit - fine)


def _closed_sides(band: Band) -> list[str]:
    return [side for side in (LOW, HIGH) if _edge(band, side, "limit") is not None]


def _room(value: float, band: Band, side: str, what: str) -> float:
    """Return how far a value lies on the good side of an edge; negative when past it."""
    edge = _edge(band, side, what)
    assert edge is not None
    return edge - value if side == HIGH else value - edge


def _edge(band: Band, side: str, what: str) -> float | None:
    edge: float | None = getattr(band, f"{what}_{side}")
    return edge
