"""What can be done on the page with two runs: choose the other one, step through both."""

from functools import partial
from itertools import pairwise

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.gallery import Gallery
from tapmark.app.kept import KeptStills
from tapmark.app.picture_deeds import wish_of
from tapmark.app.review_deeds import needs_taps
from tapmark.app.sight import Sight, sight_of
from tapmark.app.two_runs import Beside, Where
from tapmark.clip.frames import Pictures
from tapmark.errands.beside import RunPlace, beside, beside_out
from tapmark.errands.gate import hand_over
from tapmark.errands.places import VisitPlace
from tapmark.errors import ClipError, TapmarkError
from tapmark.sheet.beside_content import BesideContent
from tapmark.sheet.beside_picture import beside_picture
from tapmark.sheet.pictures import png_bytes
from tapmark.store.names import run_number
from tapmark.store.squad import Squad, open_squad

PAGE = "beside"


def others_of(squad: Squad, code: str, here: Where) -> tuple[Where, ...]:
    """Return the runs of an athlete that may stand beside this one, newest first."""
    found = [
        (code, dated, name)
        for dated in squad.visit_dates(code)
        for name in squad.run_names(code, dated)
    ]
    return tuple(where for where in reversed(found) if where != here)


def here(desk: Desk) -> Where:
    """Return where the run at hand lies."""
    visit = desk.state.visit
    return (visit.code, visit.dated, desk.state.run_name) if visit else ("", "", "")


def left_and_right(desk: Desk) -> tuple[Where, Where]:
    """Return which run stands left and which right: the earlier one of one athlete, or this one."""
    mine, other = here(desk), desk.state.beside.where
    if other is None:
        return mine, mine
    is_earlier = other[0] == mine[0] and _time_of(other) < _time_of(mine)
    return (other, mine) if is_earlier else (mine, other)


def _time_of(where: Where) -> tuple[str, int]:
    return where[1], run_number(where[2])


def open_beside(desk: Desk) -> None:
    """Show another run of the same athlete beside this one: the newest before it."""
    state = desk.state
    if not state.squad or not state.visit:
        return
    state.beside = Beside(others=others_of(state.squad, state.visit.code, here(desk)))
    frame = state.step.key_frames[0] if state.step.key_frames else None
    state.beside.picture = frame.picture if frame else 0
    if state.page in ("review", "sheet"):
        state.beside.back = state.page
    desk.go(PAGE)
    if state.beside.others:
        choose_other(desk, state.beside.others[0])


def choose_athlete_beside(desk: Desk, code: str) -> None:
    """List the runs of another athlete."""
    state = desk.state
    if state.squad:
        state.beside.others = others_of(state.squad, code, here(desk))
        if state.beside.others:
            choose_other(desk, state.beside.others[0])
        else:
            state.said = f"{code} has no other run."


def choose_other(desk: Desk, where: Where) -> None:
    """Put a run beside this one; pictures and numbers come when they are ready."""
    state, squad = desk.state, desk.state.squad
    if not squad:
        return
    desk.refuse_unsaved()
    let_other_go(desk)
    run = squad.load_run(*where)
    state.beside.where, state.beside.run, state.beside.content = where, run, None
    path = squad.run_path(*where)
    folder = squad.stills_folder(*where)

    def pictures(task: object) -> Pictures:
        try:
            return wish_of(run, path).opened(desk.cache_folder, task)  # type: ignore[arg-type]
        except ClipError:
            kept = KeptStills(run, folder)
            if kept.is_empty:
                raise
            return kept

    desk.jobs.run(
        "beside",
        pictures,
        lambda found: _use(desk, where, found),
        desk.failed,
        by="run",
        late=lambda found: found.close(),
    )
    _compare(desk, where)


def _use(desk: Desk, where: Where, pictures: Pictures) -> None:
    if desk.state.beside.where == where:
        desk.state.beside.gallery = Gallery(pictures, desk.jobs)
        desk.state.tell()


def _compare(desk: Desk, where: Where) -> None:
    state, squad = desk.state, desk.state.squad
    if not squad:
        return
    folder, today, mine = squad.folder, desk.now().date(), here(desk)
    i_step, sides = state.i_step, left_and_right(desk)

    def work() -> BesideContent:
        fresh = open_squad(folder, [])
        left, right = (
            RunPlace(VisitPlace(fresh, *at[:2]), at[2], i_step if at == mine else 0) for at in sides
        )
        return beside(left, right, today)

    def done(content: BesideContent) -> None:
        state.beside.content = content
        state.tell()

    def failed(trouble: TapmarkError) -> None:
        state.said = str(trouble)
        state.tell()

    desk.jobs.run("beside numbers", lambda task: work(), done, failed, by="run")


def let_other_go(desk: Desk) -> None:
    """Close the other run's pictures."""
    gallery = desk.state.beside.gallery
    if gallery:
        gallery.pictures.close()
        desk.state.beside.gallery = None


def sights(desk: Desk) -> tuple[Sight | None, Sight | None]:
    """Return where to look in this run and in the other one."""
    state = desk.state
    mine = sight_of(state.run, state.i_step) if state.run else None
    other = sight_of(state.beside.run, 0) if state.beside.run else None
    return mine, other


def other_picture(desk: Desk) -> int:
    """Return the picture of the other run that belongs to the one shown of this run."""
    state = desk.state
    mine, other = sights(desk)
    if not mine or not other or not state.gallery or not state.beside.gallery:
        return 0
    seconds = mine.seconds_at(state.gallery.pictures, state.beside.picture)
    if seconds is not None and other.slow_factor is not None:
        return other.picture_at(state.beside.gallery.pictures, seconds)
    return share_of_step(mine, other, state.beside.picture)


def share_of_step(mine: Sight, other: Sight, picture: int) -> int:
    """Return the picture at the same share of the way between two key frames, without times."""
    events = [f.event for f in mine.frames if any(g.event == f.event for g in other.frames)]
    at = {f.event: f.picture for f in mine.frames}
    to = {f.event: f.picture for f in other.frames}
    for a, b in pairwise(events):
        if at[a] <= picture <= at[b] and at[b] > at[a]:
            share = (picture - at[a]) / (at[b] - at[a])
            return round(to[a] + share * (to[b] - to[a]))
    nearest = min(events, key=lambda event: abs(at[event] - picture), default="")
    return to.get(nearest, other.start.picture)


def picture_out(desk: Desk) -> None:
    """Write both runs as drawn figures in one picture, where both athletes agreed, and open it."""
    state, content = desk.state, desk.state.beside.content
    squad, where = state.squad, state.beside.where
    if not squad or not where or content is None:
        return
    now, mine = desk.now().date(), here(desk)
    first, second = (
        RunPlace(VisitPlace(squad, *at[:2]), at[2], state.i_step if at == mine else 0)
        for at in left_and_right(desk)
    )
    folder = squad.athlete_folder(mine[0]) if content.is_same else squad.folder
    picture = png_bytes(beside_picture(content))
    path = beside_out(content, first, second, folder, picture, now)
    desk.open_file(hand_over(squad, path, now))
    state.said = f"Picture: {path}"
    state.tell()


def _needs_figures(desk: Desk) -> str:
    """Why there is no picture of both yet."""
    content = desk.state.beside.content
    return "" if content else "Choose a run whose figures can be drawn first."


def walk(desk: Desk, by: int) -> None:
    """Step through this run; the other one follows."""
    state = desk.state
    if state.gallery:
        last = max(0, len(state.gallery.pictures) - 1)
        state.beside.picture = min(max(0, state.beside.picture + by), last)


def to_event(desk: Desk, i_event: int) -> None:
    """Go to a key frame of this run."""
    state = desk.state
    frames = state.step.key_frames
    if i_event < len(frames):
        state.beside.picture = frames[i_event].picture


_BESIDE = (PAGE,)

ACTIONS = (
    Action(
        "beside",
        "Side by side with another run",
        open_beside,
        ("Mod+B",),
        ("review", "sheet"),
        "Review",
        needs_taps,
    ),
    Action(
        "beside picture",
        "Open both runs as a picture of drawn figures",
        picture_out,
        ("Mod+E",),
        _BESIDE,
        "Review",
        _needs_figures,
    ),
    *(
        Action(
            f"beside {name}",
            f"Both runs: {words}",
            partial(walk, by=by),
            (key,),
            _BESIDE,
            "Review",
            in_menu=False,
        )
        for name, words, by, key in (
            ("on", "one picture on", 1, "Right"),
            ("back", "one picture back", -1, "Left"),
            ("ten on", "ten pictures on", 10, "Shift+Right"),
            ("ten back", "ten pictures back", -10, "Shift+Left"),
        )
    ),
    *(
        Action(
            f"beside frame {i + 1}",
            f"Both runs: key frame {i + 1}",
            partial(to_event, i_event=i),
            (str(i + 1),),
            _BESIDE,
            "Review",
            in_menu=False,
        )
        for i in range(5)
    ),
)
