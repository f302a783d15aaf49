"""Whose clip is which: an evening's clips one after the other, a code typed for each."""

import tkinter as tk
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from functools import partial
from pathlib import Path
from tkinter import ttk

from PIL import Image, ImageOps, ImageTk

from tapmark.app.jobs import Task
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.keys import sequence
from tapmark.app.shell.runs import for_athlete
from tapmark.app.shell.squads import of_squad, refresh_roster
from tapmark.app.shell.why_disabled import unless
from tapmark.app.state.form import FieldTrouble
from tapmark.app.state.session import Glance, NamingPage
from tapmark.app.state.titles import several
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    Side,
    button_row,
    label,
    put,
    scrolled,
    surface,
    tried,
    wrap_within,
    write_in,
)
from tapmark.app.widgets.table import Cells
from tapmark.app.widgets.theme import Look
from tapmark.clip.cache import Cache
from tapmark.clip.frames import begin_clip, read_header
from tapmark.clip.strip import key_strip
from tapmark.errors import NotThere
from tapmark.marks.days import long_day
from tapmark.report.drawing import palette
from tapmark.services.clips import Looked, clip_at, log_order, look_at, offered
from tapmark.services.clips import make_runs as from_clips
from tapmark.services.pages import write_filming_card, write_shot_log
from tapmark.store.shot_list import ShotList
from tapmark.store.shots import clips_in, load_list, name_shot, new_list, save_list, skip_shot
from tapmark.store.squad import Squad, open_squad

PAGE = "naming"
GLANCE_S = 0.2
STRIP = 5
WORDS_EM = 52
STRIP_EM = 15 * 0.62


def ask_clips(context: Context) -> None:
    """Ask for a folder full of clips and begin to name them, or go on where it was left."""
    state, squad, now = context.state, context.state.the_squad, context.today()
    folder = context.ask.folder("Name clips: choose the folder from the phone")
    if folder is None:
        return
    clips = clips_in(folder)
    filmed = datetime.fromtimestamp(clips[0].stat().st_mtime).date()
    shots = _known_or_new(squad, min(filmed, now).isoformat(), clips, now)
    state.around.naming = NamingPage(shots, shots.next_unnamed() or 0)
    state.back = "squad"
    context.go(PAGE)


def _known_or_new(squad: Squad, dated: str, clips: tuple[Path, ...], now: date) -> ShotList:
    """Return the list of the evening; clips that came since stand at its end."""
    new = new_list(squad, dated, clips, offered(log_order(squad, now)))
    try:
        old = load_list(squad, dated)
    except NotThere:
        return new
    known = {shot.fingerprint for shot in old.shots}
    added = (replace(s, code="") for s in new.shots if s.fingerprint not in known)
    return replace(old, shots=(*old.shots, *added))


def name_it(context: Context, code: str, *, go_on: bool = True) -> None:
    """Name the clip at hand, and go on to the next; raise FieldTrouble for an unknown code."""
    page = context.state.around.naming
    if page.shots is None:
        return
    code = code.strip()
    known = {each.lower(): each for each in context.state.the_squad.codes()}
    if code.lower() not in known:
        near = [each for low, each in known.items() if code and low.startswith(code.lower()[:1])]
        has = ", ".join((near or list(known.values()))[:8])
        there = f"There is {has}." if has else ""
        raise FieldTrouble("code", f"The squad has no athlete “{code}”. {there}")
    _keep(context, name_shot(page.shots, page.i_shot, known[code.lower()]), go_on)


def skip(context: Context) -> None:
    """Leave the clip at hand out: it shows no run."""
    page = context.state.around.naming
    if page.shots:
        _keep(context, skip_shot(page.shots, page.i_shot))


def _keep(context: Context, shots: ShotList, go_on: bool = True) -> None:
    """Write the list, and go to the next clip without a name."""
    page = context.state.around.naming
    save_list(context.state.the_squad, shots)
    context.saver.note_saved()
    page.shots = shots
    if go_on:
        after = shots.next_unnamed(page.i_shot)
        after = shots.next_unnamed() if after is None else after
        page.i_shot = min(page.i_shot + 1, len(shots.shots) - 1) if after is None else after
    context.state.status = ""
    context.state.notify()


def to_shot(page: NamingPage, by: int) -> None:
    """Look at the next or the previous clip."""
    if page.shots:
        page.i_shot = min(max(0, page.i_shot + by), len(page.shots.shots) - 1)


def look(context: Context) -> None:
    """Fetch the first frames of the clip at hand, in a job."""
    page = context.state.around.naming
    if page.shots is None:
        return
    shot = page.shots.shots[page.i_shot]
    key = shot.fingerprint
    if key in page.glances or page.looking == key:
        return
    page.looking = key
    clip, cache = clip_at(context.state.the_squad, page.shots, shot), context.cache_folder

    def done(glance: Glance | None) -> None:
        page.glances[key], page.looking = glance, ""
        context.state.notify()

    def failed(trouble: object) -> None:
        context.state.status = str(trouble)
        done(None)

    context.jobs.run("glance", partial(glance_at, clip, cache), done, failed, by="squad")


def glance_at(clip: Path, cache_folder: Path, task: Task) -> Glance:
    """Return the first frame of a clip and a few others; raise ClipError, Cancelled."""
    header = read_header(clip)
    part = (0.0, GLANCE_S)
    begun = begin_clip(clip, cache_folder, part=part, header=header, is_cancelled=task.is_cancelled)
    try:
        first = begun.preview(0).convert("RGB")
    finally:
        begun.close()
    found = key_strip(header, Cache(cache_folder), STRIP, task.is_cancelled)
    return Glance(first, tuple(picture.convert("RGB") for _, picture in found[:STRIP]))


def make_runs(context: Context) -> None:
    """Make a run of each named clip; the clips stay as they are."""
    shots, now = context.state.around.naming.shots, context.today()
    folder = context.state.the_squad.folder
    if shots is None:
        return

    def make(looked: tuple[Looked, ...]) -> None:
        squad = context.state.the_squad
        taken = from_clips(squad, shots.dated, looked, for_athlete, context.today())
        refresh_roster(context)
        said = [f"{several(len(taken.runs), 'run')} made; Return on the Squad page opens them."]
        if taken.known:
            said.append(f"{several(taken.known, 'clip')} had a run already.")
        context.state.status = " ".join((*said, *taken.refused))

    said = "Making the runs …"
    context.work_on("copy", said, lambda task: look_at(open_squad(folder, []), shots, now), make)


def shot_log(context: Context) -> None:
    """Write the shot log of the next evening and open it."""
    squad, now = context.state.the_squad, context.today()
    path = write_shot_log(squad, log_order(squad, now), now, context.state.paper)
    context.hand_out(path, f"Written: {path}")


def filming_card(context: Context) -> None:
    """Write the card on how to film and open it."""
    path = write_filming_card(context.state.the_squad, context.today(), context.state.paper)
    context.hand_out(path, f"Written: {path}")


class NamingView:
    """The clip's first frame and a few others, a field for the code, the evening's list."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        self.context, self.look = context, look
        self._listed, self._drawn, self._asked = Fresh(), Fresh(), Fresh()
        self._photos: list[ImageTk.PhotoImage] = []
        side = Side(parent, context, look, WORDS_EM)
        side.large.rowconfigure(0, weight=1)
        self.canvas = put(surface(side.large, palette.HAIRLINE, has_focus=False), 0, 0, "nsew")
        self.canvas.bind("<Configure>", lambda event: self._draw())
        tall, pad = look.units(STRIP_EM), (look.units(1), 0)
        strip = surface(side.large, palette.PAPER, has_focus=False, height=tall)
        self.strip = put(strip, 1, 0, "ew", pady=pad)
        self._build_field(put(ttk.Frame(side.large), 2, 0, "ew", pady=pad))
        side.words.rowconfigure(1, weight=1)
        wide, pad = look.units(WORDS_EM), (0, look.units(1))
        self.title = label(side.words, 0, "", "Title.TLabel", wrap=wide, pady=pad)
        tree = ttk.Treeview(side.words, show="headings", selectmode="browse")
        self.list = put(tree, 1, 0, "nsew")
        self.cells = Cells(tree, look, spare_to="clip")
        self.cells.head(("clip", "clip"), ("code", "code"), ("state", ""))
        tree.tag_configure("quiet", foreground=palette.MUTED)
        scrolled(tree, side.words, 1)
        tree.bind("<<TreeviewSelect>>", lambda event: self._selected())
        names = (("leave", "Back"), ("make runs", "Make the runs"))
        _, self.buttons = button_row(side.foot, context, look, names)
        return side.frame

    def _build_field(self, box: ttk.Frame) -> None:
        look = self.look
        box.columnconfigure(3, weight=1)
        label(box, 0, "Whose clip is it?", "Head.TLabel")
        self.code = put(ttk.Entry(box, width=14), 0, 1, padx=look.units(1.2))
        on, back = partial(self._to, 1), partial(self._to, -1)
        for key, action in (("<Return>", self._name), ("<Down>", on), ("<Up>", back)):
            self.code.bind(key, partial(self._do, action))
        self._filled = ""
        self.context.fields[str(self.code)] = self._commit
        self.code.bind(sequence("Mod+Return", look.system), lambda event: None)  # goes on
        leave_out = ActionButton(box, self.context, look, "skip clip", "No run: leave out")
        leave_out.grid(row=0, column=2)
        self.trouble = label(box, 1, "", "Error.TLabel", columnspan=4)
        wrap_within(self.trouble, box)

    def _do(self, action: Callable[[], object], event: "tk.Event[tk.Misc]") -> str:
        action()
        return "break"

    def _to(self, by: int) -> None:
        self.context.attempt(lambda: to_shot(self.page, by))

    def _name(self, *, go_on: bool = True) -> str:
        """Name the clip; return why the code cannot be used, also shown below, "" when it can."""
        typed = self.code.get()
        name = partial(name_it, self.context, typed, go_on=go_on)
        why = tried(self.context, name, self.code, self.trouble)
        self._filled = self._filled if why else typed
        return why

    def _commit(self) -> str:
        """Keep a code that was typed before anything else is done."""
        is_here = self.code.winfo_exists() and self.context.state.page == PAGE
        if not is_here or self.code.get().strip() in ("", self._filled):
            return ""
        return self._name(go_on=False)

    def show(self) -> None:
        for fresh in (self._listed, self._drawn, self._asked):
            fresh.forget()
        self.code.focus_set()

    def refresh(self) -> None:
        page = self.page
        for button in self.buttons:
            button.refresh()
        if page.shots is None:
            return
        look(self.context)
        if self._listed.is_new(page.shots):
            self._fill(page.shots)
        item = str(page.i_shot)
        if self.list.exists(item) and self.list.selection() != (item,):
            self.cells.select(item)
        shot = page.shots.shots[page.i_shot]
        if self._asked.is_new(page.i_shot, shot):
            self.trouble.configure(text="")
            self.code.state(["!invalid"])
            write_in(self.code, shot.code)
            self._filled = shot.code
            self.code.selection_range(0, "end")
        self._draw()

    @property
    def page(self) -> NamingPage:
        return self.context.state.around.naming

    def _fill(self, shots: ShotList) -> None:
        named = sum(shot.state == "named" for shot in shots.shots)
        words = f"Clips of {long_day(shots.dated)}: {named} of {len(shots.shots)} named"
        self.title.configure(text=words)
        self.cells.clear()
        for i, shot in enumerate(shots.shots):
            state = {"named": "", "skipped": "left out"}.get(shot.state, "to name")
            code = f"{shot.code} ?" if shot.code and state else shot.code
            tags = ("quiet",) if shot.state == "skipped" else ()
            self.cells.insert(str(i), (shot.path.rsplit("/", 1)[-1], code, state), tags=tags)
        self.cells.lay_out()

    def _selected(self) -> None:
        chosen = self.list.selection()
        if chosen and int(chosen[0]) != self.page.i_shot:
            self._to(int(chosen[0]) - self.page.i_shot)

    def _draw(self) -> None:
        """Draw the first frame, and the others side by side below it."""
        page, canvas = self.page, self.canvas
        wide, tall = canvas.winfo_width(), canvas.winfo_height()
        key = page.shots.shots[page.i_shot].fingerprint if page.shots else ""
        glance = page.glances.get(key)
        if wide < 20 or not self._drawn.is_new(id(glance), (wide, tall)):
            return
        self._photos = []
        for each in (canvas, self.strip):
            each.delete("all")
        if glance is None:
            is_coming = key and key not in page.glances
            words = "Looking …" if is_coming else "This clip cannot be shown."
            font = self.look.font("body")
            canvas.create_text(wide / 2, tall / 2, text=words, fill=palette.MUTED, font=font)
            return
        self._put(canvas, glance.first, (0, 0, wide, tall))
        gap, n = self.look.units(0.6), max(1, len(glance.strip))
        each_wide = (wide + gap) // n - gap
        for i, picture in enumerate(glance.strip):
            box = i * (each_wide + gap), 0, each_wide, self.look.units(STRIP_EM)
            self._put(self.strip, picture, box)

    def _put(self, canvas: tk.Canvas, picture: Image.Image, box: tuple[int, int, int, int]) -> None:
        """Show a picture whole in the middle of a box: left, top, width, height."""
        left, top, wide, tall = box
        small = ImageOps.contain(picture, (max(1, wide), max(1, tall)), Image.Resampling.BILINEAR)
        self._photos.append(ImageTk.PhotoImage(small, master=canvas))
        canvas.create_image(left + wide / 2, top + tall / 2, image=self._photos[-1])

    def hint(self) -> str:
        whole = self.cells.cut_words()
        if whole:
            return f"In full: {whole}. Type the code and press Return."
        return "Type the code and press Return. Up and Down look at other clips, Escape goes back."

    def corner(self) -> str:
        return "clips stay where they are"


def _is_any_named(context: Context) -> bool:
    shots = context.state.around.naming.shots
    return shots is not None and any(shot.state == "named" for shot in shots.shots)


_needs_shots = unless(
    "Choose a folder of clips on the Squad page first.", lambda c: c.state.around.naming.shots
)
_needs_named = unless("Name a clip first.", _is_any_named, _needs_shots)
_of_shots = partial(Action, pages=(PAGE,), group="Clips", why_disabled=_needs_shots)
_of_named = partial(_of_shots, why_disabled=_needs_named)
ACTIONS = (
    of_squad("name clips", "Name a folder full of clips…", ask_clips, ("Mod+K",)),
    of_squad("shot log", "Shot log of the next evening, to print", shot_log, ("Mod+L",)),
    of_squad("filming card", "Filming card, to print", filming_card),
    _of_shots("skip clip", "Leave this clip out", skip, ("Mod+K",)),
    _of_named("make runs", "Make runs of the named clips", make_runs, ("Mod+Return",)),
)
