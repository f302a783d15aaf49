"""Why this one, in plain sentences for the coach's copy."""

from collections.abc import Iterator

from tapmark.sheet.content import SheetContent
from tapmark.sheet.page_words import PageWords


def why_sentences(content: SheetContent, words: PageWords) -> Iterator[str]:
    """Yield why this was chosen, what to tell a family, guesses and checks, as sentences."""
    assessment = content.assessment
    yield from assessment.reasons
    rule_names = ", ".join(content.words.item(number) for number in assessment.by_rule)
    if any(slot.is_override for slot in assessment.slots):
        yield words.by_rule.format(names=rule_names or words.nothing)
    if assessment.is_youth:
        for slot in assessment.slots:
            yield words.family.format(says=slot.phrase.to_parent)
    told = content.words.told
    if content.results.guesses:
        yield words.guesses.format(names=", ".join(map(told, content.results.guesses)))
    if content.visit.notes:
        yield f"{words.notes}: {content.visit.notes}"
    yield from (told(check.words) for check in content.results.checks)
