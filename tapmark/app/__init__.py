"""The window: Squad → Film → Frames → Taps → Review → Sheet, and the pages aside of them.

From the lowest up; a folder imports what stands above it in this list, a page never another page:

* `jobs`: the only threads. `state`: what is open and shown, without tkinter.
* `shell`: what actions get (`context`), opening squads, clips and runs, dialogs, keys.
* `widgets`: looks, tables, the picture pane, the scrubber, the step line.
* one folder a page or two: `squad`, `film`, `mark`, `review`, `season`; in each the views, and
  the actions, which need no tkinter.
* here: `actions` (one table of all), `window` (menu, steps, status, help), `main`.

A page is a `window.View`: `build(parent, context, look)` makes its widgets once and returns its
frame, `show()` is called when it comes to the front, `refresh()` after every change, at most once
a turn of the event loop. A page reads the state and calls actions; it never edits, and redraws
only what `Fresh` says is new. What is about to be done to a whole squad (imports, copies,
deleting, tables) is a `state.proposal.Proposal`, shown first and done when its button is pressed.

What computes long runs in a job: `context.jobs` for files and measures, `context.painter` for
drawings.
"""

import gc

# Reading the window's modules makes many objects and hardly any garbage. With Python's own
# threshold they are looked through 140 times, a fifth of the time that the reading takes.
# While the window stands, `window.Garbage` collects in idle moments.
gc.set_threshold(100_000)
