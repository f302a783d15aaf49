"""A drawn runner for learning to mark, and the coach's own error card."""

from dataclasses import dataclass, replace
from datetime import date
from math import hypot
from pathlib import Path

from tapmark.errors import NotThere, StoreError
from tapmark.marks.days import several
from tapmark.marks.people import CONSENTS, Athlete, Consent, Length
from tapmark.marks.points import STANDARD
from tapmark.marks.run import KeyFrame, Run, Source, Step, Tap
from tapmark.measures.card import DEFAULT_PCT_LEG
from tapmark.measures.repeatability import (
    RowDifference,
    Shift,
    by_kind,
    card_of,
    own_sd_pct_leg,
    pairs_between,
    row_differences,
    second_look_pairs,
    shift_in_words,
    steady_shifts,
)
from tapmark.measures.result import Z95
from tapmark.services.samples import (
    Truth,
    pair,
    practice_clips,
    read_truth,
    sample_frames,
    set_up_of,
)
from tapmark.store.choices import OwnError, SquadChoices
from tapmark.store.files import make_folder, read_bytes, write_bytes
from tapmark.store.pictures import clip_of
from tapmark.store.squad import Squad, all_runs, make_squad, open_squad

DRAWN_FILE = "drawn.txt"
"""Beside athlete.json: the name of the drawn clip that came with Tapmark."""
LARGEST_CLIP = 4_000_000
NOBODY = "nobody was filmed"


@dataclass(frozen=True)
class KindError:
    """Taps of one kind of point against the truth, in % of leg.

    sd:     per coordinate, √(Σ d² ÷ 2n): the truth has no error of its own.
    usual:  what is assumed of a careful coach.
    n:      how many taps.
    """

    kind: str
    sd: float
    usual: float
    n: int


@dataclass(frozen=True)
class ErrorCard:
    """How close one marked step is to the truth.

    frames: (key frame, pictures too late; negative: too early) of every chosen one.
    shifts: steady ones only: tapped later than true means forward and up +.
    rows:   by_a is the value with every tap and picture right, by_b what was marked.
    left_open: points that were asked for and have no place.
    """

    frames: tuple[tuple[str, int], ...]
    kinds: tuple[KindError, ...]
    shifts: tuple[Shift, ...]
    rows: tuple[RowDifference, ...]
    left_open: int = 0


def is_drawn(squad: Squad, code: str) -> bool:
    """Say whether an athlete of a squad is a drawn one."""
    return (squad.athlete_folder(code) / DRAWN_FILE).is_file()


def new_runner(folder: Path, today: str) -> tuple[str, str, str]:
    """Put the next drawn clip into the practice squad of a folder; return code, ISO date and run.

    folder: a practice squad, or a new or empty folder. After the last clip the first one comes
    again. Raises StoreError for a squad of real athletes, NotThere without clips, CannotWrite.
    """
    clips = practice_clips(sample_frames())
    if not clips:
        raise NotThere("The drawn clips are missing. Install Tapmark again to bring them back.")
    is_new = not (folder / "squad.json").exists()
    squad = make_squad(folder, "Practice") if is_new else open_squad(folder)
    real = [code for code in squad.codes() if not is_drawn(squad, code)]
    if real:
        raise StoreError(
            f"“{folder.name}” holds real athletes ({real[0]}). Choose a new folder for practice."
        )
    numbers = (int(code[1:]) for code in squad.codes() if code[1:].isdecimal())
    n_drawn = max(numbers, default=0)
    code, drawn = f"D{n_drawn + 1:02}", clips[n_drawn % len(clips)]
    truth = read_truth(drawn.parents[1], drawn.parent.name)
    clip = folder / "film" / f"{code}.mp4"
    make_folder(clip.parent)
    write_bytes(clip, read_bytes(drawn, LARGEST_CLIP))
    told, size = truth["athlete"], (truth["picture"]["width"], truth["picture"]["height"])
    leg = Length("leg", round(float(told["leg_length_cm"]), 1), today)
    consents = tuple(Consent(use, True, NOBODY, today) for use in CONSENTS)
    squad.add_athlete(Athlete(code, told["birth_year"], "drawn", lengths=(leg,), consents=consents))
    write_bytes(squad.athlete_folder(code) / DRAWN_FILE, f"{drawn.parent.name}\n".encode())
    at = squad.run_path(code, today, "run-1")
    make_folder(at.parent)
    source = clip_of(clip, at, Source("clip", "", size, truth["clip"]["pictures"]))
    run = Run(source=source, set_up=set_up_of(truth), marked_by=squad.choices.marker)
    return code, today, squad.new_run(code, today, run)


def truth_about(squad: Squad, code: str) -> Truth:
    """Return what is true of a drawn athlete's clip; raise NotThere where nobody knows it."""
    path = squad.athlete_folder(code) / DRAWN_FILE
    name = read_bytes(path, 100).decode("ascii", "replace").strip() if path.is_file() else ""
    known = {clip.parent.name: clip for clip in practice_clips(sample_frames())}
    if name not in known:
        raise NotThere(f"{code} is no drawn runner of this version, so nobody knows the truth.")
    return read_truth(known[name].parents[1], name)


def right_pictures(truth: Truth) -> dict[str, int]:
    """Return key frame -> number in the clip (from 0) that the rules pick."""
    return dict(truth["clip"]["key_pictures"])


def true_run(truth: Truth, run: Run, pictures: dict[str, int] | None = None) -> Run:
    """Return a run of the same step with every standard tap in its true place.

    pictures: key frame -> number in the clip; None takes those that the rules pick.
    """
    chosen = pictures or right_pictures(truth)
    rate, points = truth["pictures_per_second"], truth["clip"]["points"]
    frames = tuple(
        KeyFrame(
            event,
            number,
            number / rate,
            1 / rate,
            taps=tuple(Tap(point, pair(points[number][point])) for point in STANDARD[event]),
        )
        for event, number in chosen.items()
    )
    return replace(run, steps=(Step(frames),), set_up=set_up_of(truth))


def error_card(squad: Squad, code: str, run: Run) -> ErrorCard:
    """Return how close a marked run of a drawn runner is; raise NotThere without any tap."""
    truth = truth_about(squad, code)
    if next(run.taps(), None) is None:
        raise NotThere("Nothing is tapped yet. Mark the step first, then ask again.")
    step = run.steps[0]
    chosen = {frame.event: frame.picture for frame in step.key_frames if frame.event in STANDARD}
    right = right_pictures(truth)
    pairs = pairs_between(true_run(truth, run, chosen), run)
    # of two taps that err alike either has 1 ÷ √2 of what parts them; the truth does not err
    kinds = tuple(
        KindError(kind, 2**0.5 * own_sd_pct_leg(mine), DEFAULT_PCT_LEG[kind], len(mine))
        for kind, mine in by_kind(pairs)
    )
    return ErrorCard(
        frames=tuple((event, picture - right[event]) for event, picture in chosen.items()),
        kinds=kinds,
        shifts=tuple(shift for shift in steady_shifts(pairs) if shift.is_steady),
        rows=row_differences(true_run(truth, run), run),
        left_open=sum(tap.at_px is None for _, _, tap in run.taps()),
    )


AS_TAPPED = {kind: f"near {kind}" for kind in ("knee", "ankle", "toe", "heel", "wrist")}
"""Kind of point -> the point it stands under in squad.json; others stand under their own name."""


def own_errors(folder: Path, marker: str, today: date) -> tuple[OwnError, ...]:
    """Return one row for each kind of point that somebody looked at twice.

    Damaged runs are left out: they can tell nothing.
    """
    squad = open_squad(folder, [])
    runs = (run for *_, run in all_runs(squad, []) if run.marked_by == marker)
    pairs = [pair for run in runs for pair in second_look_pairs(run)]
    if not pairs:
        return ()
    return tuple(
        OwnError(
            marker,
            AS_TAPPED.get(own.kind, own.kind),
            round(own.pct_leg, 3),
            own.n_pairs,
            today.isoformat(),
        )
        for own in card_of(pairs).own
    )


def with_card(choices: SquadChoices, marker: str, rows: tuple[OwnError, ...]) -> SquadChoices:
    """Return the squad's choices with one marker's rows replaced."""
    others = tuple(row for row in choices.tap_card if row.marker != marker)
    return replace(choices, tap_card=(*others, *rows))


def told(run: Run) -> str:
    """Return what one run's second look says, and what moved most; "" without one."""
    pairs = second_look_pairs(run)
    if not pairs:
        return ""
    moved = [shift for shift in steady_shifts(pairs) if shift.is_steady]
    moved.sort(key=lambda shift: -hypot(shift.forward_pct_leg, shift.up_pct_leg))
    said = (
        f"Second look done: {several(len(pairs), 'point')}, your tap is within about "
        f"± {Z95 * own_sd_pct_leg(pairs):.1f} % of the leg. A steady bias it cannot show."
    )
    return " ".join((said, *map(shift_in_words, moved[:1])))  # one line has room for one
