"""Every error a person may read, in one tree.

TapmarkError                 shown as it is: status line, stderr; exit 1
    ClipError                ClipUnreadable, FrameNotThere, FfmpegNotFound, StillsUnusable,
                             OtherPictures
    MarkError                KeyFramesOutOfOrder, TapOutside, NothingToMark, NothingToDraw
    StoreError               NotThere, FileDamaged, FileTooNew, CannotWrite, InUse,
                             HeldByAnother, AlreadyThere, NotSaved
    NoConsent                consent or care forbids what was asked
    ScaleUnusable            the scale marks cannot give a scale
    StopwatchUnusable        two readings of a stopwatch do not give a rate
    CriteriaUnreadable       a band file cannot be used
    SheetError               TextHasNoGlyph, SheetTooFull
    NoScreen                 the window cannot open here

The text says what happened, with which value, and what to do now.
Cancelled is not an error and is never shown.
A ValueError or TypeError anywhere is our own mistake, not the coach's.
"""


class TapmarkError(Exception):
    """Base of everything that is told to a person; its text is shown as it is."""


class ClipError(TapmarkError):
    """Pictures cannot be had."""


class ClipUnreadable(ClipError):
    """The file is not a clip that can be read; the text says which kind of trouble."""


class FrameNotThere(ClipError):
    """A picture number outside the clip was asked for."""


class FfmpegNotFound(ClipError):
    """No ffmpeg program comes with this installation."""


class StillsUnusable(ClipError):
    """A folder or a pick of stills cannot be used as one step."""


class OtherPictures(ClipError):
    """Under the name of the pictures that a run was marked on lie others; none are shown."""


class MarkError(TapmarkError):
    """What the coach marked cannot stand."""


class KeyFramesOutOfOrder(MarkError):
    """Two key frames lie in the wrong order in time."""


class TapOutside(MarkError):
    """A tap lies outside the frame."""


class NothingToMark(MarkError):
    """A tap was placed on a key frame that is not set."""


class NothingToDraw(MarkError):
    """A line, angle or note of the coach's own has no length or no words."""


class StoreError(TapmarkError):
    """A file of the squad cannot be read or written."""


class NotThere(StoreError):
    """A file, folder, athlete or visit does not exist."""


class FileDamaged(StoreError):
    """A file does not hold what it should; a copy is set aside."""


class FileTooNew(StoreError):
    """A file was saved by a newer Tapmark; it was left untouched."""


class CannotWrite(StoreError):
    """The disk, the folder or the permissions do not let us write."""


class InUse(CannotWrite):
    """Another program has the file open; a little later it may be free."""


class NotSaved(StoreError):
    """What was marked last is only in the window, so nothing is left or closed."""


class HeldByAnother(StoreError):
    """Another window or program holds the run; the text says who and since when."""


class AlreadyThere(StoreError):
    """Something of that name exists and would be overwritten."""


class NoConsent(TapmarkError):
    """Consent or care forbids what was asked."""


class ScaleUnusable(TapmarkError):
    """The two scale marks coincide or their distance is not positive."""


class StopwatchUnusable(TapmarkError):
    """Two readings of a stopwatch do not give a rate; the text says why."""


class CriteriaUnreadable(TapmarkError):
    """A band file cannot be used; the text names file and key."""


class SheetError(TapmarkError):
    """The page cannot be set."""


class TextHasNoGlyph(SheetError):
    """The chosen font has no sign for a letter of a name."""


class SheetTooFull(SheetError):
    """The text does not fit one page even when shortened by rule."""


class NoScreen(TapmarkError):
    """No display, or a Python without tkinter: the window cannot open."""


class Cancelled(Exception):
    """Somebody pressed cancel; work stopped and cleaned up behind itself."""
