"""Words about what is open: for the bar above, and which steps are done."""

from datetime import date

from tapmark.app.prompting import counted, missing_events
from tapmark.app.state import AppState

_MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]


def day(dated: str, *, with_year: bool = True) -> str:
    """Return an ISO date as a person writes it, "14 May 2026"; other text as it is."""
    try:
        at = date.fromisoformat(dated)
    except ValueError:
        return dated
    text = f"{at.day} {_MONTHS[at.month - 1]}"
    return f"{text} {at.year}" if with_year else text


def several(count: int, one: str, many: str = "") -> str:
    """Return "1 run", "2 runs"."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def title_of(state: AppState) -> str:
    """Return whose page this is: the athlete's code, else the squad's name."""
    if state.athlete and state.page != "squad":
        return state.athlete.code
    return state.folder.name if state.folder else "Tapmark"


def detail_of(state: AppState) -> str:
    """Return which visit, run and step is open, or how many athletes there are."""
    if state.page == "squad":
        if not state.squad:
            return "no squad open"
        return several(len(state.roster), "athlete")
    if not state.visit or not state.run:
        return "no visit open"
    words = [day(state.visit.dated), state.run_name.replace("-", " ")]
    if len(state.run.steps) > 1:
        words.append(f"step {state.i_step + 1} of {len(state.run.steps)}")
    return ", ".join(words)


def done_pages(state: AppState) -> set[str]:
    """Return the pages whose work is done, in order from the first."""
    done: set[str] = set()
    if not state.squad or not state.athlete:
        return done
    done.add("squad")
    if not state.run or not state.gallery:
        return done
    done.add("film")
    if missing_events(state.run, state.i_step):
        return done
    done.add("frames")
    answered, asked = counted(state.run, state.i_step)
    if answered < asked:
        return done
    done |= {"taps", "review"}
    if state.visit and state.visit.sheet_number:
        done.add("sheet")
    return done
