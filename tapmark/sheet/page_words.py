"""The fixed words of the pages, in one place; a language file replaces them under [page]."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date

from tapmark.checklist.words import Words
from tapmark.drawing.signs import MOVED_FARTHER, MOVED_NEARER, SAME
from tapmark.drawing.step_line import StepWords
from tapmark.marks.points import SIDE_EVENTS


@dataclass(frozen=True)
class PageWords:
    """Headings, labels and standing sentences; texts in {} are filled in by the page."""

    months: str = (
        "January February March April May June July August September October November December"
    )
    day: str = "{day} {month} {year}"
    sheet_number: str = "sheet {n} of this season"
    effort: str = "effort {n} of 10"
    filmed_right: str = "Right side filmed."
    filmed_left: str = "Left side filmed."
    filmed_both: str = "Both sides filmed."
    picture_good: str = "Picture: good."
    picture_fair: str = "Picture: fair."
    picture_only: str = "Picture only: nothing is graded."
    do_well: str = "What you do well"
    one_thing: str = "Your one thing"
    keep_this: str = "Keep this"
    keep_says: str = "Nothing to change for now. Keep doing what you do well."
    first_things: str = "First of all"
    foot_right: str = "right foot"
    foot_left: str = "left foot"
    foot_both: str = "both feet"
    seen_once: str = "seen in one step"
    open_quote: str = "“"
    close_quote: str = "”"
    you: str = "you"
    idea: str = "the idea"
    starts_with: str = "Probably starts with: {names}."
    my_word: str = "My word for it"
    do_this: str = "Do this"
    pain_today: str = "Pain today? Skip this and tell us."
    tick_next: str = "Tick at the next sessions"
    tick_date: str = "date"
    tick_did: str = "did it"
    tick_easier: str = "easier"
    tick_same: str = "same"
    tick_harder: str = "harder"
    coach_saw: str = "Coach: I saw it"
    not_yet: str = "not yet"
    sometimes: str = "sometimes"
    mostly: str = "mostly"
    since: str = "Since last time"
    starting_point: str = "This is your starting point."
    moved_nearer: str = "moved, nearer"
    moved_farther: str = "moved, farther"
    same: str = "same"
    cant_tell: str = "can't tell"
    checklist: str = "Checklist"
    can_be_wrong: str = "Pictures can be wrong by a few degrees; “can't tell” means just that."
    notes: str = "Notes"
    retest: str = "Re-test week"
    stop: str = "Sharp or sudden pain: stop, tell us, see a doctor or physio."
    private: str = (
        "For you, your family and your coach. Please do not post. Ask us any time to delete it."
    )
    touchdown: str = "touchdown"
    mid_stance: str = "mid-stance"
    toe_off: str = "toe-off"
    peak_knee_lift: str = "peak knee lift"
    opposite_touchdown: str = "opposite touchdown"
    on_the_ground: str = "on the ground"
    in_the_air: str = "in the air"
    ms: str = "ms"
    not_set: str = "not set"
    right: str = "right"
    left: str = "left"
    both: str = "both"
    coach_copy: str = "coach's copy, page {page}. {context}, {n} marked, {rate}."
    rate: str = "{n} a second"
    no_rate: str = "rate not known"
    leg_tape: str = "Leg by tape."
    leg_height: str = "Leg from height."
    leg_picture: str = "Leg from the picture."
    sprint: str = "Sprint bands"
    race_pace: str = "Race-pace bands"
    acceleration: str = "Acceleration"
    bend: str = "Bend"
    plus_minus_line: str = "± holds 95 % of what marking, frame choice and set-up can do."
    behind_line: str = "≈ and an open dot: a guess, or the far hip, which is never tapped."
    value: str = "value"
    fine_band: str = "fine"
    limit: str = "limit"
    verdict: str = "verdict"
    mostly_head: str = "± mostly"
    toe_off_on: str = "Toe-off and on"
    see_below: str = "see page 3"
    chain_head: str = "Probably starts with"
    why_this: str = "Why this one"
    by_rule: str = "The rule would choose: {names}."
    nothing: str = "nothing"
    guesses: str = "Guesses: {names}."
    shown_head: str = "Shown, never graded"
    missing_head: str = "Not graded or not filmed"
    bands_head: str = "The bands, and what they rest on"
    row_reach: str = "Reach"
    row_knee_separation: str = "Knees apart"
    row_separation_behind: str = "Part behind hip"
    row_separation_ahead: str = "Part ahead of hip"
    row_swing_thigh: str = "Swing thigh"
    row_trunk_lean: str = "Trunk lean"
    row_leg_stack: str = "Leg stack"
    row_knee_bend: str = "Knee bend in stance"
    row_hip_drop: str = "Hip drop in stance"
    row_fold: str = "Fold of swing leg"
    row_hip_share: str = "Hip share of push"
    row_turn_delay: str = "Turn delay"
    lang: str = "en"
    step_head: str = "Your step"
    step_alt: str = "One step as line figures on the ground: {names}."
    pair_alt: str = "Two line figures side by side: you, and the idea. {name}."
    chain_alt: str = "Map of what probably leads to what: {names}."
    item_head: str = "item"
    row_head: str = "measure"
    basis_head: str = "what it rests on"
    coach_head: str = "Coach's copy"
    graded_head: str = "Numbers and bands"

    def date(self, day: date) -> str:
        """Return a day in words."""
        month = self.months.split()[day.month - 1]
        return self.day.format(day=day.day, month=month, year=day.year)

    def change(self, word: str) -> str:
        """Return the printed word of a change."""
        printed = {
            MOVED_NEARER: self.moved_nearer,
            MOVED_FARTHER: self.moved_farther,
            SAME: self.same,
        }
        return printed.get(word, self.cant_tell)

    def foot(self, feet: str) -> str:
        """Return "right foot" and the like, "" where no foot is meant."""
        return {"right": self.foot_right, "left": self.foot_left, "both": self.foot_both}.get(
            feet, ""
        )

    def side(self, foot: str) -> str:
        """Return "right" or "left" alone, "" where no foot is meant."""
        return {"right": self.right, "left": self.left, "both": self.both}.get(foot, "")

    def row(self, key: str) -> str:
        """Return the short name of a row under its key frame, "" where its full name is short."""
        return str(getattr(self, f"row_{key}", ""))

    def heading(self, name: str) -> str:
        """Return the name of a group with a capital letter."""
        text = str(getattr(self, name))
        return text[:1].upper() + text[1:]

    def context(self, name: str) -> str:
        """Return which bands are used."""
        return str(getattr(self, _attribute(name), name))

    def leg(self, source: str) -> str:
        """Return where the leg length comes from."""
        known = {"tape": self.leg_tape, "height": self.leg_height}
        return known.get(source, self.leg_picture)

    @property
    def step(self) -> StepWords:
        """The words of the step line."""
        names = {event: getattr(self, _attribute(event)) for event in SIDE_EVENTS}
        return StepWords(names, self.on_the_ground, self.in_the_air, self.ms, self.not_set)


def page_words(words: Words) -> PageWords:
    """Return the fixed words of a language."""
    return PageWords(**_own(words.leaves))


def _own(leaves: Mapping[str, str]) -> dict[str, str]:
    names = [each.name for each in fields(PageWords)]
    return {name: leaves[f"page.{name}"] for name in names if f"page.{name}" in leaves}


def _attribute(event: str) -> str:
    return event.replace(" ", "_").replace("-", "_")
