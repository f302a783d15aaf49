"""Showing what is about to be done, and doing it only when the coach says so."""

from typing import TYPE_CHECKING

from tapmark.app.shell.context import Action
from tapmark.app.state.proposal import PAGE, Proposal

if TYPE_CHECKING:
    from tapmark.app.shell.context import Context


def propose(context: "Context", proposal: Proposal) -> None:
    """Show a proposal; nothing is done yet."""
    proposal_page = context.state.around.proposal
    proposal_page.proposal, proposal_page.choices, proposal_page.typed = (
        proposal,
        proposal.choices(),
        "",
    )
    context.state.back = proposal.back
    context.go(PAGE)


def choose(context: "Context", key: str, choice: str) -> None:
    """Choose for one line."""
    context.state.around.proposal.choices[key] = choice
    context.state.notify()


def why_disabled(context: "Context") -> str:
    """Why the proposal cannot be done now."""
    proposal_page = context.state.around.proposal
    if proposal_page.proposal is None or proposal_page.proposal.action is None:
        return "There is nothing to do here. Escape goes back."
    if proposal_page.typed.strip() != proposal_page.proposal.typed:
        return f"Type {proposal_page.proposal.typed} first, so that it is the right one."
    return ""


def do_it(context: "Context") -> None:
    """Do what the proposal says."""
    proposal_page = context.state.around.proposal
    if proposal_page.proposal and proposal_page.proposal.action:
        proposal_page.proposal.action(context, dict(proposal_page.choices))


PROPOSAL_ACTIONS = (
    Action(
        "do it",
        "Confirm",
        do_it,
        ("Mod+Return",),
        (PAGE,),
        "Squad",
        why_disabled,
        in_menu=False,
    ),
)
