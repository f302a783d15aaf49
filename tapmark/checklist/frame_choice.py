"""What the verdicts would be, had a key frame been chosen one picture earlier or later."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from tapmark.checklist.criteria import Criteria
from tapmark.checklist.judge import judge_rows
from tapmark.checklist.verdict import RowVerdict
from tapmark.measures.result import Measured, Results
from tapmark.measures.sensitivity import OnePictureOff


@dataclass(frozen=True)
class FrameChange:
    """A verdict that hangs on the choice of one picture.

    event, by:      the key frame, and −1 for one picture earlier or +1 for one later.
    before, after:  the row as marked, and as it would be.
    """

    event: str
    by: int
    before: RowVerdict
    after: RowVerdict


def frame_changes(
    results: Results,
    shifted: Iterable[OnePictureOff],
    criteria: Criteria,
    keys: Collection[str] = (),
) -> tuple[FrameChange, ...]:
    """Return the row verdicts that would differ, in the order of the key frames.

    shifted:  from measures.sensitivity.one_picture_off of the same run.
    keys:     rows that matter, e.g. those of the chosen items; empty for all.
    """
    as_marked = _by_row(results, criteria, keys)
    return tuple(
        FrameChange(each.event, each.by, row, after)
        for each in shifted
        for key, after in _by_row(each.results, criteria, keys).items()
        if (row := as_marked[key]).word != after.word
    )


def frame_sentences(changes: Iterable[FrameChange], criteria: Criteria) -> tuple[str, ...]:
    """Return one sentence for each change, or one that says that nothing would change."""
    told = tuple(_sentence(change, criteria) for change in changes)
    return told or (criteria.words.say("why.shift_none"),)


def _by_row(
    results: Results, criteria: Criteria, keys: Collection[str]
) -> dict[tuple[str, str], RowVerdict]:
    return {
        (row.result.key, row.result.leg): row
        for row in judge_rows(results, criteria)
        if not keys or row.result.key in keys
    }


def _sentence(change: FrameChange, criteria: Criteria) -> str:
    words, result = criteria.words, change.after.result
    return words.say(
        "why.shift",
        row=words.row(result.key),
        feet=words.in_brackets(change.before.foot),
        event=words.event(change.event),
        when=words.say("shift.earlier" if change.by < 0 else "shift.later"),
        value=f"{result.value:.{result.digits}f}" if isinstance(result, Measured) else "–",
        word=words.verdict(change.after.word),
    )
