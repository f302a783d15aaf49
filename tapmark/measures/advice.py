"""What would narrow a ± most, said for each source of doubt."""

from tapmark.measures import doubts
from tapmark.measures.result import Measured
from tapmark.measures.typed import THE_STOPWATCH

WHAT_HELPS = {
    doubts.THE_FRAME: "film at 240 pictures a second",
    doubts.SQUARENESS: "stand farther away and pick the step straight in front of the camera",
    doubts.CAMERA_ROLL: "have something truly vertical in the picture and tap it",
    doubts.FAR_HIP: "film the other side too: then this leg is the near one",
    doubts.BEHIND: "mark another pass in which the far knee can be seen",
    doubts.SHOULDER_TURN: "tap the neck base instead of the shoulder",
    doubts.TURNING_MARKS: "mark the same turn on another pass",
    doubts.THE_SCALE: "lay the scale marks on the runner's own line",
    doubts.LEG_LENGTH: "measure the leg by tape",
    THE_STOPWATCH: "time the runner by light gates or over a longer distance",
}
_TAPS = "mark another pass, or look twice to learn your own tapping error"


def what_helps(measured: Measured) -> str:
    """Return in a few words what would narrow this ± most; "" where nothing is known."""
    return WHAT_HELPS.get(measured.mostly, _TAPS) if measured.mostly else ""
