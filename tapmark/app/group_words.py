"""What stands beside the table of signs: shared roots, who is due, who is to be filmed again."""

from collections.abc import Iterator

from tapmark.app.titles import several
from tapmark.sheet.group_content import GroupContent

Section = tuple[str, tuple[str, ...]]
"""Heading and lines."""


def sections(group: GroupContent, troubles: tuple[str, ...]) -> Iterator[Section]:
    """Yield headings with their lines, those with nothing to say left out."""
    name = group.words.item
    if not group.lines:
        yield "Nobody is on it yet", ("It shows those who agreed to be filmed and are marked.",)
    if group.common:
        yield "Most common root now", tuple(name(item) for item in group.common)
    if group.groups:
        shared = (f"{name(item)}: {', '.join(codes)}" for item, codes in group.groups)
        yield "Same drills for", tuple(shared)
    if group.evenings:
        many = len(group.evenings) > 1
        nights = (
            f"Evening {i}: {', '.join(codes)}" if many else ", ".join(codes)
            for i, codes in enumerate(group.evenings, start=1)
        )
        yield "Film this week", tuple(nights)
    if group.again:
        yield "Can't tell: mark or film once more", (", ".join(group.again),)
    if group.left_out:
        n = several(len(group.left_out), "athlete")
        yield f"Not on the page: {n}", group.left_out
    if troubles:
        yield "Cannot be read", troubles
