"""Words about what is open: for the bar above, and which steps are done."""

from tapmark.app.state.pages import ASIDE
from tapmark.app.state.prompts import counted, missing_events
from tapmark.app.state.session import AppState
from tapmark.marks.days import long_day, run_words, several

OF_THE_SQUAD = ("proposal", "group", "naming")  # not about the athlete chosen
LONGEST_NAME = 24  # of a squad: the six steps stand beside it


def travel_words(state: AppState, name: str) -> str:
    """Return what "undo" or "redo" would take back or bring again, "" when there is nothing."""
    history = state.history
    label = (history.undo_label if name == "undo" else history.redo_label) if history else ""
    return f"{name.capitalize()} {label}" if label else ""


def title_of(state: AppState) -> str:
    """Return whose page this is: the athlete's code, else the squad's name."""
    if state.athlete and state.page != "squad" and state.page not in OF_THE_SQUAD:
        return state.athlete.code
    return squad_name(state)


def squad_name(state: AppState) -> str:
    """Return the name of the squad; that of its folder where it has none."""
    if state.squad is None:
        return "Tapmark"
    name = state.squad.choices.name or state.squad.folder.name
    return name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1].rstrip()}…"


def step_of(page: str) -> str:
    """Return the step that a page belongs to: most of those aside belong to Squad."""
    return "review" if page in ("compare", "drawing") else "squad" if page in ASIDE else page


def detail_of(state: AppState) -> str:
    """Return which visit, run and step is open, or how many athletes there are."""
    if state.page == "squad" or state.page in OF_THE_SQUAD:
        if not state.squad:
            return "no squad open"
        return several(sum(not a.is_archived for a in state.session.roster), "athlete")
    if state.page == "season":
        return "the season"
    if not state.visit or not state.run:
        return "no visit open"
    words = [long_day(state.visit.dated), run_words(state.run_name) or "new run"]
    if len(state.run.steps) > 1:
        words.append(f"step {state.marking.i_step + 1} of {len(state.run.steps)}")
    return ", ".join(words)


def done_pages(state: AppState) -> set[str]:
    """Return the pages whose work is done, in order from the first."""
    done: set[str] = set()
    if not state.squad or not state.athlete:
        return done
    done.add("squad")
    if not state.run or not state.marking.gallery:
        return done
    done.add("film")
    if missing_events(state.run, state.marking.i_step):
        return done
    done.add("frames")
    answered, asked = counted(state.run, state.marking.i_step)
    if answered < asked:
        return done
    done |= {"taps", "review"}
    if state.visit and state.visit.sheet_number:
        done.add("sheet")
    return done
