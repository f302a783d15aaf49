"""Which measures exist, in the order in which they are listed, and what each one is."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from tapmark.marks.points import (
    LAST_CONTACT,
    MID_STANCE,
    MOST_TURNED,
    OPPOSITE_TOUCHDOWN,
    PEAK_KNEE_LIFT,
    SHOE,
    TOE_OFF,
    TOUCHDOWN,
)
from tapmark.measures.result import behind

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

COMMON = "common practice, no source"
Needs = Mapping[str, tuple[str, ...]]
Rates = Mapping[str, float]

_IN_JSON = {"°": "deg", "% leg": "pct_leg", "%": "pct", "/s": "per_s", "m/s": "m_per_s"}


@dataclass(frozen=True, kw_only=True)
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
    legs: tuple[str, ...]
    needs: Needs
    sign: str
    formula: str
    family: str
    digits: int = 0
    source: str = COMMON
    group: str = ""
    view: str = "side"
    rates: Rates = field(default_factory=dict)
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
        return behind(self.unit)

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


def _under(group: str, *rows: Row) -> tuple[Row, ...]:
    return tuple(replace(row, group=group) for row in rows)


def _time(
    key: str,
    name: str,
    events: tuple[str, ...],
    sign: str,
    formula: str,
    *,
    leg: str = "",
    unit: str = "ms",
    digits: int = 0,
    source: str = "definition from first and last frame touching",
) -> Row:
    return Row(
        key=key,
        name=name,
        unit=unit,
        digits=digits,
        legs=(leg,),
        needs=dict.fromkeys(events, ()),
        sign=sign,
        formula=formula,
        source=source,
        family="time",
    )


def _lag(key: str, name: str, sign: str, formula: str) -> Row:
    return Row(
        key=key,
        name=name,
        unit="ms",
        legs=("",),
        needs={},
        sign=sign,
        formula=formula,
        source=f"{COMMON}; the arm turns once between the two turns of the legs",
        family="arms",
    )


_LEG = ("hip", "near knee", "near ankle")
_ARM = ("shoulder", "elbow")

# At contact each row has a near leg (touchdown) and a far leg (opposite touchdown). The far hip is
# never tapped: where it enters, the near one stands for it. Times and lags change with the frames
# chosen, not with taps.
ROWS: tuple[Row, ...] = (
    *_under(
        "Touchdown",
        Row(
            key="reach",
            name="Reach: shank at touchdown",
            unit="°",
            legs=LEGS,
            needs={TOUCHDOWN: ("near knee", "near ankle")},
            sign="+ ankle ahead of the knee, − ankle behind it",
            rates={TOUCHDOWN: -670.0},
            spreads={TOUCHDOWN: 120.0},
            formula="shank = atan2(ankle X − knee X, knee Y − ankle Y)",
            source=(
                "shank angle at touchdown, published for the women's 800 m final by Hanley 2022, "
                "10.3389/fspor.2022.834813; as a fault: common practice, no source"
            ),
            family="contact",
        ),
        Row(
            key="ankle_knee",
            name="Ankle ahead of knee",
            unit="% leg",
            legs=LEGS,
            needs={TOUCHDOWN: ("near knee", "near ankle")},
            sign="+ ankle ahead of the knee, − ankle behind it",
            rates={TOUCHDOWN: -520.0},
            spreads={TOUCHDOWN: 95.0},
            formula="100 (ankle X − knee X) ÷ leg",
            family="contact",
        ),
        Row(
            key="ankle_knee_cm",
            name="Ankle ahead of knee",
            unit="cm",
            legs=LEGS,
            needs={TOUCHDOWN: ("near knee", "near ankle")},
            sign="+ ankle ahead of the knee, − ankle behind it",
            rates={TOUCHDOWN: -510.0},
            spreads={TOUCHDOWN: 100.0},
            formula="ankle X − knee X by the scale, else by the leg length",
            family="contact",
        ),
        Row(
            key="ankle_hip",
            name="Ankle ahead of hip",
            unit="% leg",
            legs=LEGS,
            needs={TOUCHDOWN: ("hip", "near ankle")},
            sign="+ ankle ahead of the hip",
            rates={TOUCHDOWN: -565.0},
            spreads={TOUCHDOWN: 155.0},
            formula="100 (ankle X − hip X) ÷ leg",
            source=(
                "touchdown distance, ankle to hip; as a fault the evidence is mixed: Hanley 2023, "
                "10.1111/sms.14331, found longer ones in better finishers"
            ),
            family="contact",
        ),
        Row(
            key="knee_touchdown",
            name="Knee at touchdown",
            unit="°",
            legs=LEGS,
            needs={TOUCHDOWN: ("hip", "near knee", "near ankle")},
            sign="180 straight, less is bent, more is bent backwards",
            rates={TOUCHDOWN: -355.0},
            spreads={TOUCHDOWN: 190.0},
            tempos={TOUCHDOWN: 0.0},
            formula="180 − (thigh − shank)",
            source="plane geometry; a pulling contact: common practice, no source",
            family="contact",
        ),
        Row(
            key="thigh_touchdown",
            name="Thigh at touchdown",
            unit="°",
            legs=LEGS,
            needs={TOUCHDOWN: ("hip", "near knee")},
            sign="+ knee in front of the hip, more is a thigh that has come back less",
            rates={TOUCHDOWN: -370.0},
            spreads={TOUCHDOWN: 50.0},
            slower={TOUCHDOWN: -25.0},
            formula="thigh = atan2(knee X − hip X, hip Y − knee Y)",
            source=(
                "thigh angular motion and speed: Clark 2020, 10.1242/bio.053546; as a fault: "
                "common practice, no source"
            ),
            family="contact",
        ),
        Row(
            key="knee_separation",
            name="Knees apart at touchdown",
            unit="% leg",
            legs=LEGS,
            needs={TOUCHDOWN: ("near knee", "far knee")},
            sign="+ swing knee still behind the stance knee",
            rates={TOUCHDOWN: -750.0},
            spreads={TOUCHDOWN: 80.0},
            tempos={TOUCHDOWN: 2.0},
            formula="100 (stance knee X − swing knee X) ÷ leg",
            source=(
                "recovery knee at touchdown: Bushnell & Hunter 2007, 10.1080/14763140701489728; "
                "describes style inside one group (Haugen 2018, 10.1123/ijspp.2016-0812)"
            ),
            family="contact",
        ),
        Row(
            key="separation_ahead",
            name="Part ahead of the hip",
            unit="% leg",
            legs=LEGS,
            needs={TOUCHDOWN: ("hip", "near knee")},
            sign="+ stance knee ahead of its hip",
            rates={TOUCHDOWN: -245.0},
            spreads={TOUCHDOWN: 40.0},
            slower={TOUCHDOWN: 10.0},
            formula="100 (stance knee X − hip X) ÷ leg",
            family="contact",
        ),
        Row(
            key="separation_behind",
            name="Part behind the hip",
            unit="% leg",
            legs=LEGS,
            needs={TOUCHDOWN: ("hip", "far knee")},
            sign="+ swing knee behind its hip",
            rates={TOUCHDOWN: -465.0},
            spreads={TOUCHDOWN: 72.0},
            formula="100 (hip X − swing knee X) ÷ leg",
            family="contact",
        ),
        Row(
            key="swing_thigh",
            name="Swing thigh at touchdown",
            unit="°",
            legs=LEGS,
            needs={TOUCHDOWN: ("hip", "far knee")},
            sign="+ swing knee in front of the hip, − behind it",
            rates={TOUCHDOWN: 570.0},
            spreads={TOUCHDOWN: 88.0},
            formula="thigh of the swing leg = atan2(knee X − hip X, hip Y − knee Y)",
            source=(
                "thigh at opposite foot strike goes with speed in 79 sprinters: Miyashiro 2019, "
                "10.3389/fspor.2019.00037"
            ),
            family="contact",
        ),
        Row(
            key="trunk_lean",
            name="Trunk lean at touchdown",
            unit="°",
            legs=("",),
            needs={
                TOUCHDOWN: (TRUNK_TOP, "hip"),
                OPPOSITE_TOUCHDOWN: (TRUNK_TOP, "hip"),
            },
            sign="+ leaning forward, − leaning back",
            rates={TOUCHDOWN: 22.0, OPPOSITE_TOUCHDOWN: 12.0},
            spreads={TOUCHDOWN: 12.0, OPPOSITE_TOUCHDOWN: 10.0},
            formula=(
                "mean over both touchdowns of atan2(top X − hip X, top Y − hip Y); the top is the "
                "neck base, else the middle of both shoulders, else the near shoulder"
            ),
            source="trunk bend in masters sprinters, 10.3389/fphys.2019.00613",
            family="posture",
        ),
    ),
    *_under(
        "Mid-stance",
        Row(
            key="leg_stack",
            name="Leg stack at mid-stance",
            unit="%",
            legs=("near",),
            needs={MID_STANCE: _LEG},
            sign="100 is a straight leg, less is a lower hip",
            rates={MID_STANCE: -80.0},
            spreads={MID_STANCE: 77.0},
            bends={MID_STANCE: 9e3},
            formula="100 × (hip to ankle) ÷ (hip to knee + knee to ankle)",
            family="posture",
        ),
        Row(
            key="knee_mid_stance",
            name="Knee at mid-stance",
            unit="°",
            legs=("near",),
            needs={MID_STANCE: _LEG},
            sign="180 straight, less is bent",
            rates={MID_STANCE: -252.0},
            spreads={MID_STANCE: 238.0},
            bends={MID_STANCE: 28e3},
            formula="180 − (thigh − shank)",
            source="plane geometry",
            family="posture",
        ),
        Row(
            key="knee_bend",
            name="Knee bend, touchdown to mid-stance",
            unit="°",
            legs=("near",),
            needs={TOUCHDOWN: _LEG, MID_STANCE: _LEG},
            sign="+ the knee gives",
            rates={TOUCHDOWN: -355.0, MID_STANCE: 252.0},
            spreads={TOUCHDOWN: 190.0, MID_STANCE: 238.0},
            tempos={TOUCHDOWN: 0.0},
            formula="knee at touchdown − knee at mid-stance",
            source=(
                "plane geometry; smaller in faster runners: Miyashiro 2019, "
                "10.3389/fspor.2019.00037"
            ),
            family="contact",
        ),
        Row(
            key="hip_drop",
            name="Hip drop, touchdown to mid-stance",
            unit="% leg",
            legs=("near",),
            needs={TOUCHDOWN: ("hip", "near ankle"), MID_STANCE: ("hip", "near ankle")},
            sign="+ the hip sinks over the ankle",
            rates={TOUCHDOWN: 102.0, MID_STANCE: 67.0},
            spreads={TOUCHDOWN: 116.0, MID_STANCE: 63.0},
            formula="100 [(hip Y − ankle Y) at touchdown − the same at mid-stance] ÷ leg",
            family="contact",
        ),
        Row(
            key="fold",
            name="Fold of the swing leg at mid-stance",
            unit="°",
            legs=("far",),
            needs={MID_STANCE: ("hip", "far knee", "far ankle")},
            sign="smaller is folded tighter",
            rates={MID_STANCE: -409.0},
            spreads={MID_STANCE: 288.0},
            bends={MID_STANCE: 39e3},
            formula="180 − (thigh − shank) of the swing leg",
            source="plane geometry; a result of the push: common practice, no source",
            family="recovery",
        ),
    ),
    *_under(
        "Toe-off",
        Row(
            key="thigh_toe_off",
            name="Thigh at toe-off",
            unit="°",
            legs=("near",),
            needs={TOE_OFF: ("hip", "near knee")},
            sign="− knee behind the hip",
            rates={TOE_OFF: -615.0},
            spreads={TOE_OFF: 52.0},
            tempos={TOE_OFF: 2.0},
            bends={TOE_OFF: 28e3},
            formula="atan2(knee X − hip X, hip Y − knee Y)",
            source="plane geometry",
            family="push",
        ),
        Row(
            key="knee_toe_off",
            name="Knee at toe-off",
            unit="°",
            legs=("near",),
            needs={TOE_OFF: _LEG},
            sign="180 straight, less is bent",
            rates={TOE_OFF: 650.0},
            spreads={TOE_OFF: 215.0},
            formula="180 − (thigh − shank)",
            source=(
                "plane geometry; a full lock-out is not needed: Miyashiro 2019, "
                "10.3389/fspor.2019.00037"
            ),
            family="push",
        ),
        Row(
            key="hip_toe_off",
            name="Hip at toe-off, signed",
            unit="°",
            legs=("near",),
            needs={TOE_OFF: (TRUNK_TOP, "hip", "near knee")},
            sign="180 straight, more is stretched out behind",
            rates={TOE_OFF: 710.0},
            spreads={TOE_OFF: 105.0},
            tempos={TOE_OFF: 2.0},
            bends={TOE_OFF: -32e3},
            formula="180 − (thigh + trunk lean)",
            source="plane geometry, signed so that 201 does not read as 159",
            family="push",
        ),
        Row(
            key="hip_share",
            name="Hip share of the push",
            unit="%",
            legs=("near",),
            needs={MID_STANCE: _LEG, TOE_OFF: _LEG},
            sign="more is pushed by the hip, less by the knee",
            rates={MID_STANCE: -397.0, TOE_OFF: 57.0},
            spreads={MID_STANCE: 154.0, TOE_OFF: 166.0},
            bends={MID_STANCE: 11e3, TOE_OFF: 36e3},
            formula=(
                "100 d ÷ (d + max(0, e)), d = thigh at mid-stance − thigh at toe-off, "
                "e = knee at toe-off − knee at mid-stance; only where d ≥ 20°"
            ),
            source=f"our own, after {COMMON}",
            family="push",
        ),
        Row(
            key="drive_angle",
            name="Drive angle, toe to hip",
            unit="°",
            legs=("near",),
            needs={TOE_OFF: ("near toe", "hip")},
            sign="+ hip ahead of the toe",
            rates={TOE_OFF: 455.0},
            spreads={TOE_OFF: 168.0},
            formula="atan2(hip X − toe X, hip Y − toe Y)",
            source="masters sprinters, 10.3389/fphys.2019.00613 (their definition may differ)",
            family="push",
        ),
    ),
    *_under(
        "Peak knee lift",
        Row(
            key="peak_thigh",
            name="Peak thigh (a result)",
            unit="°",
            legs=("far",),
            needs={PEAK_KNEE_LIFT: ("hip", "far knee")},
            sign="+ knee in front; 90 is level",
            bends={PEAK_KNEE_LIFT: -23e3},
            formula="atan2(knee X − hip X, hip Y − knee Y) of the lead leg",
            source="plane geometry",
            family="recovery",
        ),
        Row(
            key="front_leg_return",
            name="Front leg return",
            unit="°",
            legs=("far",),
            needs={PEAK_KNEE_LIFT: ("hip", "far knee"), OPPOSITE_TOUCHDOWN: ("hip", "far knee")},
            sign="+ the thigh comes down and back before landing",
            rates={OPPOSITE_TOUCHDOWN: 370.0},
            spreads={OPPOSITE_TOUCHDOWN: 50.0},
            slower={OPPOSITE_TOUCHDOWN: 25.0},
            bends={PEAK_KNEE_LIFT: -23e3},
            formula="lead thigh at peak knee lift − the same thigh at opposite touchdown",
            family="recovery",
        ),
        Row(
            key="return_rate",
            name="Front leg return, mean speed",
            unit="°/s",
            legs=("far",),
            needs={PEAK_KNEE_LIFT: ("hip", "far knee"), OPPOSITE_TOUCHDOWN: ("hip", "far knee")},
            sign="+ down and back",
            rates={OPPOSITE_TOUCHDOWN: 900.0},
            spreads={OPPOSITE_TOUCHDOWN: 3180.0},
            formula="front leg return ÷ time from peak knee lift to opposite touchdown",
            source="thigh angular motion and speed: Clark 2020, 10.1242/bio.053546",
            family="recovery",
        ),
    ),
    *_under(
        "Time",
        _time(
            "contact_time",
            "Contact time",
            (TOUCHDOWN, TOE_OFF),
            "longer on the ground",
            "t(toe-off) − t(touchdown) + one interval",
            leg="near",
        ),
        _time(
            "flight_time",
            "Flight time",
            (TOE_OFF, OPPOSITE_TOUCHDOWN),
            "longer in the air",
            "t(opposite touchdown) − t(toe-off) − one interval",
        ),
        _time(
            "step_time",
            "Step time",
            (TOUCHDOWN, OPPOSITE_TOUCHDOWN),
            "slower rhythm",
            "t(opposite touchdown) − t(touchdown)",
        ),
        _time(
            "step_rate",
            "Step rate",
            (TOUCHDOWN, OPPOSITE_TOUCHDOWN),
            "quicker rhythm",
            "1 ÷ step time",
            unit="/s",
            digits=2,
        ),
        _time(
            "duty_factor",
            "Duty factor",
            (TOUCHDOWN, TOE_OFF, OPPOSITE_TOUCHDOWN),
            "more of the stride on the ground",
            "100 × contact time ÷ (2 × step time)",
            leg="near",
            unit="%",
        ),
        _time(
            "far_contact_time",
            "Contact time, far foot",
            (OPPOSITE_TOUCHDOWN,),
            "longer on the ground",
            "t(far toe-off) − t(opposite touchdown) + one interval",
            leg="far",
        ),
        _time(
            "turn_delay",
            "Turn delay of the rear thigh",
            (TOE_OFF,),
            "the rear leg comes through later",
            "middle of “rear thigh” still − t(toe-off)",
            leg="near",
            source=f"{COMMON}; published runs give 18 to 25 ms at speed",
        ),
    ),
    *_under(
        "The whole step",
        _lag(
            "arm_leg_lag",
            "Arm–leg lag, mean of both partners",
            "+ the arm turns later than the leg",
            "mean of elbow lag and hand lag",
        ),
        _lag(
            "lag_elbow",
            "Elbow back behind lead thigh up",
            "+ the elbow turns later",
            "middle of “elbow back” − middle of “lead thigh”",
        ),
        _lag(
            "lag_hand",
            "Hand forward behind rear thigh back",
            "+ the hand turns later",
            "middle of “hand forward” − middle of “rear thigh”",
        ),
        Row(
            key="arm_range",
            name="Upper arm range, near arm",
            unit="°",
            legs=("near",),
            needs={TOUCHDOWN: _ARM, TOE_OFF: _ARM, OPPOSITE_TOUCHDOWN: _ARM},
            sign="larger swing",
            rates={TOUCHDOWN: -492.0, TOE_OFF: 79.0},
            spreads={TOUCHDOWN: 348.0, TOE_OFF: 93.0},
            formula="largest − smallest upper arm angle over the key frames",
            family="arms",
        ),
        Row(
            key="step_length",
            name="Step length",
            unit="m",
            digits=2,
            legs=("",),
            needs={TOUCHDOWN: ("near ankle",), OPPOSITE_TOUCHDOWN: ("far ankle",)},
            sign="longer step",
            rates={TOUCHDOWN: -2.45, OPPOSITE_TOUCHDOWN: 2.55},
            spreads={TOUCHDOWN: 0.65, OPPOSITE_TOUCHDOWN: 0.65},
            formula="far ankle X at opposite touchdown − near ankle X at touchdown",
            source="definition",
            family="course",
        ),
        Row(
            key="speed",
            name="Speed",
            unit="m/s",
            digits=1,
            legs=("",),
            needs={TOUCHDOWN: ("hip",), OPPOSITE_TOUCHDOWN: ("hip",)},
            sign="faster",
            formula=(
                "way of the hip from touchdown to opposite touchdown ÷ step time; where the speed "
                "was typed in, that one"
            ),
            source="definition",
            family="course",
        ),
        Row(
            key="contact_length",
            name="Contact length",
            unit="m",
            digits=2,
            legs=("near",),
            needs={TOUCHDOWN: ("hip", "near ankle"), TOE_OFF: ("hip", "near ankle")},
            sign="longer way over the foot",
            rates={TOUCHDOWN: -5.6, TOE_OFF: 4.2},
            spreads={TOUCHDOWN: 1.6, TOE_OFF: 1.0},
            formula="(ankle X − hip X) at touchdown − the same at toe-off",
            source="definition",
            family="course",
        ),
    ),
    *_under(
        "From behind or in front",
        Row(
            key="foot_turn",
            name="Foot turn at push-off",
            unit="°",
            legs=("",),
            needs={LAST_CONTACT: SHOE, MOST_TURNED: SHOE},
            sign="+ the heel goes toward the mid-line",
            formula="change of the line forefoot → heel from last contact to most turned",
            source="Souza 2015, PM&R 7:823: joggers' mean 0.4°, SD 9.2°",
            family="rear",
            view="rear",
        ),
    ),
)

_BY_KEY = MappingProxyType({each.key: each for each in ROWS})


def row(key: str) -> Row:
    """Return the row of a key; KeyError for a key that does not exist is our own mistake."""
    return _BY_KEY[key]
