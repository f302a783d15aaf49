"""The window: Squad → Film → Frames → Taps → Review → Sheet, and the pages aside of them.

Three kinds of module live here and stay apart:

* plain Python without tkinter, tested without a screen: `state` (what is open and shown), `desk`
  (state, workers and helpers in one place), `actions` and the `*_deeds` (what a person can do),
  `prompting` (what is asked next), `viewport`, `gallery` and `sight` (which pixels are seen),
  `jobs` (the only threads), `hand_over` (the only processes);
* parts made of tkinter: `style`, `clam`, `painting`, `picture_pane`, `strip`, `column`, `bars`
  and the panels;
* one page each: the `*_view` modules.

Around Squad lie pages that lead back to it: `season_view`, `group_view`, `naming_view`, and
`proposal_view`, which shows whatever is about to be done (imports, copies, deleting, tables) as a
`proposal.Proposal` and does it only when its button is pressed; `beside_view` leads back to Review.
Forms are values as well: a `form.Form` says which fields there are and what saving does,
`form_panel` shows any of them.

A page is a `View` (see `window.View`): `build(parent, desk, look)` makes its widgets once and
returns its frame, `show()` is called when it comes to the front, `refresh()` after every change,
at most once a turn of the event loop. A page reads the state and calls deeds; it never edits, and
redraws only what `Fresh` says is new.

The order in which a tap comes back to the eye: its mark on the picture in the next idle turn, bars
and column of words 10 ms later, the file on the disk after 20 ms, smooth lines and the step line
after 120 ms, slips of the marking after 180 ms. What computes long runs in a job: `desk.jobs` for
files and measures, `desk.painter` for drawings.
"""
