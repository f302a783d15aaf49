"""The window: Squad → Film → Frames → Taps → Review → Sheet.

Three kinds of module live here and stay apart:

* plain Python without tkinter, tested without a screen: `state` (what is open and shown),
  `actions` and the `*_deeds` (what a person can do), `prompting` (what is asked next),
  `viewport` (picture and canvas arithmetic), `jobs` (work beside the window), `hand_over`;
* parts made of tkinter that know nothing of runs: `style`, `painting`, `picture_pane`, `strip`;
* one page each: `squad_view`, `film_view`, `frames_view`, `tap_view`, `review_view`,
  `sheet_view`, `help_view`. A page reads the state and calls actions; it never edits.

Around Squad lie pages that lead back to it: `season_view`, `group_view`, `naming_view`, and
`proposal_view`, which shows whatever is about to be done (imports, copies, deleting, tables) as a
`proposal.Proposal` and does it only when its button is pressed. Forms are values as well: a
`form.Form` says which fields there are and what saving does, `form_panel` shows any of them.

A page is a `View` (see `window.View`): `build(parent, desk)` makes its widgets once and returns
its frame, `show()` is called when it comes to the front, `refresh()` after every change, at most
once a turn of the event loop; it must be cheap, so a page redraws only what `Fresh` says is new.
`desk` (see `state.Desk`) holds the state, the jobs, the askers for files and the action table.
"""
