"""Plain sentences about a clip, for the window's file panel and for `tapmark doctor`."""

from tapmark.clip.header import Header
from tapmark.clip.ingest import Facts
from tapmark.clip.timing import Stamps, is_uneven, missing_exposures, rate_stretches

DOUBLED_FILE_HZ = (23.0, 31.0)
"""File clocks in this range may hide slow motion that was baked in when the clip was shared."""


def clip_notes(header: Header, stamps: Stamps, facts: Facts) -> tuple[str, ...]:
    """Return what a coach should know about this clip, most important first."""
    notes = [*_damage(facts), *_times(header, stamps), *_looks(header, facts)]
    return tuple(note for note in notes if note)


def _damage(facts: Facts) -> list[str]:
    notes = []
    if facts.is_cut:
        notes.append(
            "The end of the file is missing: the copy was interrupted. The last frame may be torn."
        )
    elif facts.damaged_at is not None:
        notes.append(
            f"The file is damaged, first near frame {facts.damaged_at + 1}: frames there may "
            "be torn or smeared. Their numbers and times stay right."
        )
    if facts.n_sizes > 1:
        notes.append("The frame size changes inside the clip; all are shown at the first size.")
    return notes


def _times(header: Header, stamps: Stamps) -> list[str]:
    if not stamps.is_known:
        return ["The file holds no times for its frames: seconds cannot be measured."]
    gaps, tick = stamps.gaps_s(), float(stamps.tick_s)
    return [
        _backwards(gaps.min() if gaps.size else 0.0),
        _stretches(rate_stretches(gaps, tick)),
        _missing(int(missing_exposures(gaps, tick).sum())),
        _uneven(is_uneven(gaps, tick)),
        _twins(int((gaps == 0).sum()), tick),
        _ramp(header, stamps.rate_hz()),
    ]


def _backwards(smallest_gap_s: float) -> str:
    if smallest_gap_s >= 0:
        return ""
    return "The file's clock jumps back somewhere: trust times only within one stretch."


def _stretches(rates_hz: tuple[float, ...]) -> str:
    if len(rates_hz) < 2:
        return ""
    words = " then ".join(f"{rate:.0f}" for rate in rates_hz[:4])
    more = " and so on" if len(rates_hz) > 4 else ""
    return (
        f"The rate changes inside the clip ({words}{more} frames per second on the file's clock). "
        "Mark a step inside one stretch."
    )


def _missing(n_missing: int) -> str:
    if n_missing == 0:
        return ""
    words = "1 frame seems" if n_missing == 1 else f"{n_missing} frames seem"
    return f"{words} to be missing; times beside a gap are less sure and say so."


def _uneven(is_uneven_clip: bool) -> str:
    if not is_uneven_clip:
        return ""
    return "The rate is not steady; times follow each frame's own stamp."


def _twins(n_twins: int, tick_s: float) -> str:
    if n_twins == 0:
        return ""
    return (
        f"{n_twins} frames share their time with the one before: the file's clock counts in "
        f"steps of {1000 * tick_s:g} ms."
    )


def _ramp(header: Header, rate_hz: float | None) -> str:
    if header.has_ramp_note:
        return (
            "The maker's own note says that slow motion begins somewhere inside. Only the phone "
            "can tell where: state the rate of the part you mark, or say “not known”."
        )
    low, high = DOUBLED_FILE_HZ
    if header.tag_hz is None and rate_hz is not None and low <= rate_hz <= high:
        return (
            f"{rate_hz:.0f} frames per second: if this was slow motion, a shared copy may have "
            "lost its true rate or bent its time. The original from the phone keeps it."
        )
    return ""


def _looks(header: Header, facts: Facts) -> list[str]:
    notes = []
    if facts.n_interlaced:
        notes.append(
            "Interlaced: each frame mixes two exposures, half an interval apart, on alternate "
            "lines. Positions are less sharp and times half an interval less sure."
        )
    if header.turn_deg:
        notes.append("The phone noted a turn; the frames are shown upright.")
    if header.hdr:
        notes.append(f"HDR colours ({header.hdr.upper()}), adapted for a plain screen.")
    if header.has_colours_we_cannot_show:
        notes.append(
            "Colours of a kind that cannot be shown right: they look green and purple. "
            "Positions and times are not affected."
        )
    return notes
