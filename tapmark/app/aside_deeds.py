"""What can be done on the page of what is about to be done."""

from tapmark.app.action import Action
from tapmark.app.proposal import PAGE, do_it, hindrance

ACTIONS = (
    Action(
        "do it",
        "Do what the page proposes",
        do_it,
        ("Mod+Return",),
        (PAGE,),
        "Squad",
        hindrance,
        in_menu=False,
    ),
)
