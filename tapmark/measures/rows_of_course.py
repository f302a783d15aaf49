"""Catalogue rows of the arm, of the course over the ground, and of the shoe from behind."""

from tapmark.marks.points import (
    LAST_CONTACT,
    MOST_TURNED,
    OPPOSITE_TOUCHDOWN,
    SHOE,
    TOE_OFF,
    TOUCHDOWN,
)
from tapmark.measures.row import Row

_ARM = ("shoulder", "elbow")
_GROUP = "The whole step"

ROWS_OF_COURSE = (
    Row(
        key="arm_range",
        name="Upper arm range, near arm",
        unit="°",
        digits=0,
        legs=("near",),
        needs={TOUCHDOWN: _ARM, TOE_OFF: _ARM, OPPOSITE_TOUCHDOWN: _ARM},
        sign="larger swing",
        rates={TOUCHDOWN: -492.0, TOE_OFF: 79.0},
        spreads={TOUCHDOWN: 348.0, TOE_OFF: 93.0},
        formula="largest − smallest upper arm angle over the key frames",
        source="common practice, no source",
        group=_GROUP,
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
        group=_GROUP,
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
        rates={},  # a later picture finds the hip farther on by just as much
        formula="way of the hip from touchdown to opposite touchdown ÷ step time; where the speed "
        "was typed in, that one",
        source="definition",
        group=_GROUP,
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
        group=_GROUP,
        family="course",
    ),
    Row(
        key="foot_turn",
        name="Foot turn at push-off",
        unit="°",
        digits=0,
        legs=("",),
        needs={LAST_CONTACT: SHOE, MOST_TURNED: SHOE},
        sign="+ the heel goes toward the mid-line",
        rates={},
        formula="change of the line forefoot → heel from last contact to most turned",
        source="Souza 2015, PM&R 7:823: joggers' mean 0.4°, SD 9.2°",
        group="From behind or in front",
        family="rear",
        view="rear",
    ),
)
