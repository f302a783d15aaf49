"""Showing what is about to be done, and doing it only when the coach says so."""

from tapmark.app.shell.context import Action, Context
from tapmark.app.state.pages import ProposalPage
from tapmark.app.state.proposal import PAGE, Proposal
from tapmark.app.state.session import AppState


def propose(context: Context, proposal: Proposal) -> None:
    """Show a proposal; nothing is done yet."""
    context.state.around.proposal = ProposalPage(proposal, proposal.choices())
    context.state.back = proposal.back
    context.go(PAGE)


def choose(state: AppState, key: str, choice: str) -> None:
    """Choose for one line."""
    state.around.proposal.choices[key] = choice
    state.notify()


def why_disabled(context: Context) -> str:
    """Why the proposal cannot be done now."""
    page = context.state.around.proposal
    if page.proposal is None or page.proposal.action is None:
        return "There is nothing to do here. Escape goes back."
    if page.typed.strip() != page.proposal.typed:
        return f"Type {page.proposal.typed} first, so that it is the right one."
    return ""


def do_it(context: Context) -> None:
    """Do what the proposal says."""
    page = context.state.around.proposal
    if page.proposal and page.proposal.action:
        page.proposal.action(context, dict(page.choices))


PROPOSAL_ACTIONS = (
    Action(
        "do it", "Confirm", do_it, ("Mod+Return",), (PAGE,), "Squad", why_disabled, in_menu=False
    ),
)
