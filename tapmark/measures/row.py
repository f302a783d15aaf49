"""What a measure is: its row in the catalogue."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tapmark.marks.points import OPPOSITE_TOUCHDOWN, TOUCHDOWN

LEGS = ("near", "far")
TRUNK_TOP = "neck base or shoulder"  # stands for whichever of the two was tapped

# Rates are plain means over three runs whose points were published, each scaled to this contact
# time: a sprinter at 9.5 and 3.6 m/s (Dorn 2012, 10.1242/jeb.064527) and a distance runner at 5 m/s
# (Hamner & Delp 2013, 10.1016/j.jbiomech.2012.11.024); the arithmetic is ours. Beside each stands
# how much it differs between people: 1.32 times the SD of so few (Student's t for two degrees of
# freedom, 68 %), or of one man's steps where those differ more. The knee at toe-off is set well
# above what they show, because it opens fast in whoever leaves the ground with a bent knee; its
# spread is a third: common practice, no source. Bends are plain means over the same runs.
#
# A contact turns the limbs through much the same angles at any speed, so most rates go with its
# tempo. Otherwise go: the knee in the first 8 ms after touchdown, which gives by 190 degrees a
# second in the sprinter and by 420 and 455 in the slower runs; the gap between the knees at
# touchdown and the thigh at toe-off, which go with the square of the tempo in all three; and the
# thigh at touchdown, which goes back in fast people and not at all in slow ones. That one lies on a
# straight line over contact in four runs, the fourth one runner at 6.65 m/s (trial of Fox's
# repository flash-running).
RATES_AT_CONTACT_S = 0.110
SLOWER_CONTACT_S = 0.200

Needs = Mapping[str, tuple[str, ...]]
Rates = Mapping[str, float]

_SHOWN = {"°": "°", "% leg": " % leg", "%": " %", "°/s": " °/s"}
_IN_JSON = {"°": "deg", "% leg": "pct_leg", "%": "pct", "/s": "per_s", "m/s": "m_per_s"}


@dataclass(frozen=True)
class Row:
    """One measure, told once for every place that shows, checks or explains it.

    key:      short name that never changes; used in files and in checks.toml.
    name:     what a coach reads.
    unit:     "°", "% leg", "%", "cm", "ms", "/s", "m", "m/s" or "°/s".
    digits:   decimals printed.
    legs:     legs that it exists for: ("near", "far"), ("near",), ("far",) or ("",).
    needs:    key frame → points, for the first leg; an empty tuple needs only the key frame.
    sign:     what a larger value means, in words.
    rates:    key frame → how fast the value typically changes there had the picture been chosen
              later, in unit per second and with its sign, for a contact of RATES_AT_CONTACT_S;
              key frames where it hardly changes are left out.
    bends:    key frame → how fast that rate itself changes there, in unit per second squared, for
              the same contact: a picture a little early or late errs to the same side.
    spreads:  key frame → how much that rate differs between people (1 SD), in the unit of rates and
              for the same contact; every rate has one.
    tempos:   key frame → power of RATES_AT_CONTACT_S ÷ contact with which its rate and spread go; 1
              where left out.
    slower:   key frame → its rate for a contact of SLOWER_CONTACT_S where no power holds: it goes
              straight between the two and beyond, and its spread is the same for any contact.
    formula:  in the words of the points; angles as in geometry.planar.
    source:   where formula and meaning come from, or "common practice, no source".
    group:    heading under which it is listed.
    family:   "contact", "posture", "push", "recovery", "arms", "time", "course" or "rear".
    view:     "side", or "rear" for the shoe seen from behind (or in front).
    """

    key: str
    name: str
    unit: str
    digits: int
    legs: tuple[str, ...]
    needs: Needs
    sign: str
    rates: Rates
    formula: str
    source: str
    group: str
    family: str
    view: str = "side"
    bends: Rates = field(default_factory=dict)
    spreads: Rates = field(default_factory=dict)
    tempos: Rates = field(default_factory=dict)
    slower: Rates = field(default_factory=dict)

    def needs_of(self, leg: str) -> Needs:
        """Return key frame → points for a leg; the far leg's contact is opposite touchdown."""
        if leg == self.legs[0]:
            return self.needs
        return {
            _other_contact(event): tuple(map(_other_leg, points))
            for event, points in self.needs.items()
        }

    def rates_of(self, leg: str, contact_s: float) -> Rates:
        """Return key frame → typical rate in unit per second, for a leg and a contact time."""
        slower = (contact_s - RATES_AT_CONTACT_S) / (SLOWER_CONTACT_S - RATES_AT_CONTACT_S)
        straight = {
            event: self.rates[event] + slower * (rate - self.rates[event])
            for event, rate in self.slower.items()
        }
        return self._of_leg(self.rates, leg, contact_s, self.tempos, straight)

    def bends_of(self, leg: str, contact_s: float) -> Rates:
        """Return key frame → change of the rate in unit per second squared, as `rates_of`."""
        return self._of_leg(self.bends, leg, contact_s, dict.fromkeys(self.bends, 2.0), {})

    def spreads_of(self, leg: str, contact_s: float) -> Rates:
        """Return key frame → spread of the rate between people, as `rates_of`."""
        alike = {event: self.spreads[event] for event in self.slower}
        return self._of_leg(self.spreads, leg, contact_s, self.tempos, alike)

    def _of_leg(
        self, typical: Rates, leg: str, contact_s: float, powers: Rates, otherwise: Rates
    ) -> Rates:
        is_first, faster = leg == self.legs[0], RATES_AT_CONTACT_S / contact_s
        scaled = {event: rate * faster ** powers.get(event, 1.0) for event, rate in typical.items()}
        return {
            event if is_first else _other_contact(event): rate
            for event, rate in (scaled | dict(otherwise)).items()
        }

    @property
    def shown_unit(self) -> str:
        """The unit as it stands behind a number, with its space."""
        return _SHOWN.get(self.unit, f" {self.unit}")

    @property
    def unit_in_keys(self) -> str:
        """The unit as it ends a key of a JSON file: deg, pct_leg, cm, ms, m_per_s, …"""
        return _IN_JSON.get(self.unit, "deg_per_s" if self.unit == "°/s" else self.unit)

    @property
    def is_timed(self) -> bool:
        """True when it has seconds in it, so that it needs a known capture rate."""
        return self.unit in ("ms", "/s", "m/s", "°/s")

    @property
    def is_metric(self) -> bool:
        """True when it needs a static camera and two scale marks."""
        return self.unit in ("m", "m/s")


def _other_contact(event: str) -> str:
    return {TOUCHDOWN: OPPOSITE_TOUCHDOWN, OPPOSITE_TOUCHDOWN: TOUCHDOWN}.get(event, event)


def _other_leg(point: str) -> str:
    side, _, joint = point.partition(" ")
    return f"{dict(near='far', far='near').get(side, side)} {joint}".strip()
