"""What the page with two runs shows. Never saved."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tapmark.marks.run import Run

if TYPE_CHECKING:
    from tapmark.app.gallery import Gallery
    from tapmark.sheet.beside_content import BesideContent

Where = tuple[str, str, str]
"""Code, date and name of a run."""


@dataclass(eq=False, repr=False)
class Beside:
    """The other run and what is shown of both.

    picture: of this run; the other one follows by time, or by its share of the step.
    others:  the runs that can be chosen.
    back:    the page that Escape goes to.
    """

    where: Where | None = None
    run: Run | None = None
    gallery: "Gallery | None" = None
    content: "BesideContent | None" = None
    picture: int = 0
    others: tuple[Where, ...] = ()
    back: str = "review"
