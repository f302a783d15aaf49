"""A film of a step: drawn for everybody who may be filmed, or the clip itself for grown-ups."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from tapmark import disk
from tapmark.checklist.verdict import CANT_TELL, FINE, LIKELY, NEAR_THE_LINE, SEEN, RowVerdict
from tapmark.checklist.words import Words
from tapmark.clip.export import export_frames, exported
from tapmark.clip.film_file import for_a_look, gif_bytes, mp4_bytes
from tapmark.errors import CannotWrite, NoConsent, NotThere
from tapmark.leftovers import temporary_folder
from tapmark.marks.days import long_day
from tapmark.marks.points import SIDE_EVENTS
from tapmark.marks.run import KeyFrame
from tapmark.measures.catalogue import row
from tapmark.measures.free_marks import label_of, values_of
from tapmark.measures.result import Measured
from tapmark.progress import NOBODY, Progress, refuse_cancelled
from tapmark.report.drawing.overlay import SHOWN
from tapmark.report.pages.film import SIZE_PX, Film, FilmContent, FilmRunner, Moment, Still
from tapmark.report.pages.words import page_words
from tapmark.services.consent import KEPT_PHOTO, file_name, let_out, write_out
from tapmark.services.places import VisitPlace
from tapmark.services.visits import ShownStep, VisitReading, card_of, most_tapped, read_visit
from tapmark.store.pictures import PHOTO_PAGE, clip_path, clip_state, refuse_other_clip
from tapmark.store.retention import is_minor

_TELLING = (SEEN, LIKELY, NEAR_THE_LINE, FINE, CANT_TELL)
Look = Callable[[Path], bool]
"""Shows a finished film that is not given out yet; returns whether every face in it is covered."""


@dataclass(frozen=True)
class MadeFilm:
    """A film that is not given out yet, its file name, and who is in it."""

    places: tuple[VisitPlace, ...]
    kind: str
    name: str
    data: bytes

    def shown(self, today: date) -> AbstractContextManager[Path]:
        """Return the film as a file for a look; it is gone afterwards.

        Consent is asked as it lies on the disk now: raises NoConsent; ClipError for a full disk.
        """
        _ask(self.places, self.kind, today)
        return for_a_look(self.data, self.name)


def make_film(
    places: tuple[VisitPlace, ...],
    today: date,
    kind: str = "drawn",
    progress: Progress = NOBODY,
    *,
    as_gif: bool = False,
) -> MadeFilm:
    """Make a film of one visit's step, or of two beside each other; nothing leaves yet.

    kind: "drawn", or "photo" with the clip's own pictures: only of grown-ups with every consent,
    the face covered. Raises NoConsent, NotThere for a visit that cannot be drawn or a clip that is
    gone, ClipError, Cancelled.
    """
    _ask(places, kind, today)
    with _content(places, kind, today, progress) as content:
        film = Film(content)
        if as_gif:
            data = gif_bytes(film.frames(), film.n_frames, progress)
        else:
            data = mp4_bytes(film.frames(), SIZE_PX, film.n_frames, progress)
    codes = dict.fromkeys(place.code for place in places)
    name = file_name(codes, "step-film", places[-1].dated, ".gif" if as_gif else ".mp4")
    return MadeFilm(places, kind, f"{PHOTO_PAGE}{name}" if kind == "photo" else name, data)


def give_out(made: MadeFilm, folder: Path, today: date) -> Path:
    """Write a film that was made and return its file; consent is asked as it lies on the disk now.

    One with photos only after the coach has looked through it. Raises NoConsent, CannotWrite.
    """
    _ask(made.places, made.kind, today)
    last, how = made.places[-1], KEPT_PHOTO if made.kind == "photo" else "film"
    return write_out(how, last.squad, (last.code,), folder / made.name, made.data, today)


def write_film(
    places: tuple[VisitPlace, ...],
    folder: Path,
    today: date,
    kind: str = "drawn",
    look: Look | None = None,
    progress: Progress = NOBODY,
    *,
    as_gif: bool = False,
) -> Path:
    """Make a film, let it be looked through where it has photos (look), and give it out.

    Raises as make_film and give_out; CannotWrite before anything is made where the folder is gone,
    NoConsent where nobody can look or a face is not covered.
    """
    _ask(places, kind, today)
    if not disk.is_folder(folder):  # asked before: to make a film takes a while
        raise CannotWrite(f"“{folder}” is not there: the folder is gone, or never was. Make it.")
    if kind == "photo" and look is None:
        raise NoConsent(
            "A film with photos is looked through once before it is written, and nobody can look "
            "here. Make it in the window or on a terminal, or make the drawn film."
        )
    made = make_film(places, today, kind, progress, as_gif=as_gif)
    if kind == "photo" and look:
        with made.shown(today) as path:
            is_covered = look(path)
        if not is_covered:
            raise NoConsent(
                "The film was not written: not every face in it is covered. Tap hip and shoulder "
                "again, or make the drawn film."
            )
    return give_out(made, folder, today)


def _ask(places: tuple[VisitPlace, ...], kind: str, today: date) -> None:
    are_two = len({place.code for place in places}) > 1
    for place in places:
        (athlete,) = let_out("film", place.squad, (place.code,), today)
        if are_two:
            let_out("side by side", place.squad, (place.code,), today)
        if kind == "photo":
            if is_minor(athlete, today.isoformat()):
                raise NoConsent(
                    f"{place.code} is under 18, or the year of birth is not known: only the drawn "
                    "film is made."
                )
            let_out(KEPT_PHOTO, place.squad, (place.code,), today)


@contextmanager
def _content(
    places: tuple[VisitPlace, ...], kind: str, today: date, progress: Progress
) -> Iterator[FilmContent]:
    """Read the visits; with photos, the stills of the step lie in a folder till it is made."""
    readings = [read_visit(place, today) for place in places]
    words = readings[-1].criteria.words
    with temporary_folder() as stills:
        runners = []
        chosen = _chosen(readings)
        for i, (place, reading) in enumerate(zip(places, readings, strict=True)):
            step, still = most_tapped(reading.runs), None
            run = step.run
            if kind == "photo":
                still = _stills(place, step, stills / str(i), progress)
            label = f"{place.code}, {page_words(words).iso_date(place.dated)}"
            moments = _moments(reading, step.frames, chosen, words)
            card = card_of(place.squad, [run])
            labels = {mark: label_of(values_of(run, mark, card)) for mark in run.free_marks}
            runners.append(FilmRunner(label, run, step.i_step, moments, still, labels))
        slots = readings[-1].assessment.slots if len({place.code for place in places}) == 1 else ()
        n = min(len(runner.run.steps[runner.i_step].key_frames) for runner in runners)
        note = words.say("film.drawn", n=n) if kind == "drawn" else words.say("film.filmed")
        yield FilmContent(tuple(runners), slots[0].phrase.cue if slots else "", note)


def _chosen(readings: Sequence[VisitReading]) -> dict[str, tuple[str, str]]:
    """Return for each key frame the measure (row, leg) that tells most there, over all runners.

    Seen comes before fine, then what is farther past its limit.
    """
    chosen = {}
    for event in SIDE_EVENTS:
        rows = [verdict for reading in readings for verdict in _told_at(reading, event)]
        if rows:
            best = min(rows, key=lambda each: (_TELLING.index(each.word), -abs(each.excess)))
            chosen[event] = best.result.key, best.result.leg
    return chosen


def _told_at(reading: VisitReading, event: str) -> Iterator[RowVerdict]:
    """Yield the verdicts on measures whose line can be drawn at that key frame alone."""
    for verdict in reading.assessment.rows:
        result, is_told = verdict.result, verdict.word in _TELLING
        if not (is_told and isinstance(result, Measured) and result.key in SHOWN):
            continue
        if tuple(row(result.key).needs_of(result.leg)) == (event,):
            yield verdict


def _moments(
    reading: VisitReading,
    frames: Sequence[KeyFrame],
    chosen: Mapping[str, tuple[str, str]],
    words: Words,
) -> dict[str, Moment]:
    moments = {frame.event: Moment(words.event(frame.event)) for frame in frames}
    for event, moment in moments.items():
        for verdict in _told_at(reading, event):
            result = verdict.result
            if isinstance(result, Measured) and chosen[event] == (result.key, result.leg):
                moments[event] = replace(
                    moment,
                    measure=words.row(result.key),
                    value=result.with_unit,
                    word=verdict.word,
                    said=words.verdict(verdict.word),
                    row=result.key,
                    leg=result.leg,
                )
    return moments


def _stills(place: VisitPlace, step: ShownStep, out: Path, progress: Progress) -> Still:
    """Return a way to the full-size pictures of a step, read from its clip into a folder.

    Raises NotThere when the clip is gone or there never was one.
    """
    run, run_path = step.run, place.squad.run_path(place.code, place.dated, step.name)
    clip = clip_path(run.source, run_path)
    if run.source.kind == "stills":
        raise NotThere(
            f"{place.code} on {long_day(place.dated)} was marked on stills, so there are no "
            "frames between them. Make the drawn film."
        )
    if clip_state(run.source, run_path) == "gone":
        raise NotThere(
            f"The clip of {place.code} on {long_day(place.dated)} is not where it was, so there "
            "are no frames for a film. Find it again, or make the drawn film."
        )
    refuse_other_clip(run.source, clip)
    frames = sorted(step.frames, key=lambda frame: frame.picture)
    first, last = frames[0], frames[-1]
    if first.time_s is None or last.time_s is None:
        raise NotThere("The frames carry no times, so no film can be made of them.")
    slack = 3.0 * (first.interval_s or 0.04)
    export_frames(
        clip,
        out,
        from_s=max(0.0, first.time_s - slack),
        to_s=last.time_s + slack,
        kind="jpg",
        progress=progress,
    )
    refuse_cancelled(progress)
    times, picture = exported(out)
    start = first.time_s
    at_first = min(range(len(times)), key=lambda i: abs(times[i] - start))
    return lambda number: picture(at_first + number - first.picture)
