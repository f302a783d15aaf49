"""What is said about numbers: a word for each row and each item, and the choice that follows."""

from dataclasses import dataclass

from tapmark.measures.change import Limits
from tapmark.measures.result import Result

SEEN = "seen"
LIKELY = "likely"  # past the limit, but by too little to be seen
NEAR_THE_LINE = "near the line"
FINE = "fine"
CANT_TELL = "can't tell"
NOT_MEASURED = "not measured"
WORDS = (SEEN, LIKELY, NEAR_THE_LINE, FINE, CANT_TELL, NOT_MEASURED)
PAST = (SEEN, LIKELY)
TOLD = (*PAST, NEAR_THE_LINE)
SHOWN = "shown"  # a row without limits


@dataclass(frozen=True, kw_only=True)
class Band(Limits):
    """Fine band and limits of one row in one context.

    needs_speed: graded at race pace only when the runner is known to be fast enough.
    only_if:     (row, value): graded only when that row of the same leg reaches the value.
    is_capped:   near the line at most.
    least_steps: graded only when so many steps gave the row.
    dated, reason: when and why the band was last changed.
    """

    key: str
    context: str
    is_trend_only: bool = False
    needs_speed: bool = False
    basis: str = ""
    dated: str = ""
    reason: str = ""
    only_if: tuple[str, float] | None = None
    is_capped: bool = False
    least_steps: int = 1

    @property
    def fine(self) -> tuple[float, ...]:
        """The edges of the fine band that there are, the lower one first."""
        return tuple(edge for edge in (self.fine_low, self.fine_high) if edge is not None)

    @property
    def limits(self) -> tuple[float, ...]:
        """The limits that there are, the lower one first."""
        return tuple(edge for edge in (self.limit_low, self.limit_high) if edge is not None)


@dataclass(frozen=True)
class RowVerdict:
    """The word for one row.

    side:   "high" or "low": the side on which it is seen or nearest to the limit; "" when fine
            in the middle or not judged.
    excess: (value − nearest limit) ÷ u, past the limit positive; 0 where not judged.
    margin: distance inside the fine band ÷ u, negative outside; for strengths.
    band:   None for rows that are shown, never graded.
    low, high: the word on that side alone, for items that ask about one side; "" where the side
            is open or nothing was judged.
    foot:   "right", "left" or "": whose landing or leg the row belongs to.
    n_marked: steps that were marked; result.n_steps says how many of them gave this row.
    """

    result: Result
    word: str
    side: str = ""
    excess: float = 0.0
    margin: float = 0.0
    band: Band | None = None
    why: str = ""
    low: str = ""
    high: str = ""
    foot: str = ""
    n_marked: int = 1


@dataclass(frozen=True)
class ItemVerdict:
    """The word for one of the 18 items.

    feet:      "right", "left", "both" or "" (no foot meant): where it is worst.
    rows:      the row verdicts it was read from.
    is_result: follows from others; never takes a slot.
    once:      seen in one step only.
    is_capped: would be seen or likely, but is kept at near the line until the coach accepts it
               (under 16).
    cause:     the item that the larger part of this one speaks of; None where there is none.
    """

    number: int
    name: str
    word: str
    feet: str = ""
    rows: tuple[RowVerdict, ...] = ()
    is_result: bool = False
    once: bool = False
    note: str = ""
    is_capped: bool = False
    cause: int | None = None

    @property
    def is_sure(self) -> bool:
        """Whether a page may state it as a fact about the athlete; all other words leave doubt."""
        return self.word == SEEN


@dataclass(frozen=True)
class Strength:
    """Something done well, with the words for the athlete."""

    key: str
    words: str
    margin: float = 0.0


@dataclass(frozen=True)
class Phrase:
    """Words of one item for one reader: cue, sentences, drills with their cautions."""

    name: str
    cue: str
    says: str
    to_parent: str
    drills: tuple["Drill", ...] = ()
    caution: str = ""


@dataclass(frozen=True)
class Drill:
    """One drill: name, dose, how to set it up and do it, when to stop, and its caution."""

    name: str
    dose: str
    how: str
    stop: str
    caution: str = ""

    @property
    def care(self) -> str:
        """When to stop, and the caution."""
        return " ".join(text for text in (self.stop, self.caution) if text)


@dataclass(frozen=True)
class Chosen:
    """One filled slot: the item, the words and what it probably starts with.

    since: ISO date on which it became a priority.
    """

    item: ItemVerdict
    phrase: Phrase
    starts_with: tuple[int, ...] = ()
    is_override: bool = False
    since: str = ""


@dataclass(frozen=True)
class Assessment:
    """Everything that is said about a visit: rows, items, strengths, the choice and why.

    edges:   (upstream item, downstream item) pairs of the chain that was used.
    reasons: sentences for the coach's copy, why this one was chosen.
    by_rule: item numbers that the rule would choose, whatever the coach chose.
    blocked: why no priorities or drills are given ("" otherwise): pain, clearance, age.
    instead: where no slot is filled and nothing is blocked: a title and sentences in its place.
    heading: what stands over the slots: "Your one thing", "Something to try", "Keep this".
    lacks_reason: the coach chose otherwise than the rule and gave no reason yet.
    most_slots: how many slots may be filled here.
    is_first_sheet: nothing was printed before, so there is nothing to compare with.
    """

    rows: tuple[RowVerdict, ...]
    items: tuple[ItemVerdict, ...]
    strengths: tuple[Strength, ...]
    slots: tuple[Chosen, ...]
    edges: tuple[tuple[int, int], ...] = ()
    reasons: tuple[str, ...] = ()
    by_rule: tuple[int, ...] = ()
    blocked: str = ""
    cautions: tuple[str, ...] = ()
    is_youth: bool = True
    shows_checklist: bool = False
    heading: str = ""
    lacks_reason: bool = False
    most_slots: int = 2
    instead: tuple[str, ...] = ()
    is_first_sheet: bool = True

    def item(self, number: int) -> ItemVerdict:
        """Return the verdict of item 1 to 18."""
        return self.items[number - 1]
