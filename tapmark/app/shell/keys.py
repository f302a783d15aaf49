"""Keys by name: "Mod+Shift+Z" to what the event loop understands and to what a person reads.

Mod is Command on macOS and Control elsewhere. Nothing here knows of tkinter.
"""

from typing import Final

_SPECIAL: Final = {
    "Plus": ("plus", "+"),
    "Minus": ("minus", "−"),
    "=": ("equal", "="),
    "Comma": ("comma", ","),
    "Period": ("period", "."),
    "[": ("bracketleft", "["),
    "]": ("bracketright", "]"),
    "?": ("question", "?"),
    "/": ("slash", "/"),
    "Left": ("Left", "←"),
    "Right": ("Right", "→"),
    "Up": ("Up", "↑"),
    "Down": ("Down", "↓"),
    "PageUp": ("Prior", "Page Up"),
    "PageDown": ("Next", "Page Down"),
}
MOVING: Final = {"Left", "Right", "Up", "Down", "Home", "End", "PageUp", "PageDown"}
PRESSING: Final = {"Return", "Space", "Tab", "Delete"}


def sequence(key: str, system: str = "x11") -> str:
    """Return the binding of a key, e.g. "<Control-Shift-Key-Z>"."""
    *held, last = key.split("+")
    mod = "Command" if system == "aqua" else "Control"
    names = [mod if h == "Mod" else h for h in held]
    base = _SPECIAL.get(last, (last, last))[0]
    if base == "Space":
        base = "space"
    if len(base) == 1 and base.isalpha():
        base = base.upper() if "Shift" in held else base.lower()
    if base == "Tab" and "Shift" in held and system == "x11":
        return "<ISO_Left_Tab>"
    return f"<{'-'.join([*names, 'Key', base])}>"


def sequences(key: str, system: str = "x11") -> tuple[str, ...]:
    """Return every binding of a key: caps lock and the number pad mean the same."""
    first = sequence(key, system)
    *held, last = key.split("+")
    others = []
    if len(last) == 1 and last.isalpha() and "Shift" not in held:
        others.append(first.replace(f"Key-{last.lower()}>", f"Key-{last.upper()}>"))
    if last.isdecimal() or last in _ON_PAD:
        others.append(first.replace(f"Key-{_tail(first)}", f"Key-KP_{_ON_PAD.get(last, last)}"))
    return (first, *others)


def _tail(binding: str) -> str:
    return binding.rpartition("Key-")[2].rstrip(">")


_ON_PAD: Final = {"Plus": "Add", "Minus": "Subtract", "Return": "Enter"}


def spoken(key: str, system: str = "x11") -> str:
    """Return the key as a person reads it, e.g. "Ctrl+Shift+Z"."""
    *held, last = key.split("+")
    mod = "⌘" if system == "aqua" else "Ctrl"
    shown = _SPECIAL.get(last, (last, last))[1]
    return "+".join([*(mod if h == "Mod" else h for h in held), shown])


def acts_in(key: str, widget_class: str) -> bool:
    """Say whether a key may act while a widget of that class has the focus.

    Fields keep every key that they use themselves; buttons and lists keep the keys that work them.
    """
    *held, last = key.split("+")
    if "Mod" in held or (last.startswith("F") and last[1:].isdigit()) or last == "Escape":
        is_theirs = last == "Z" or ("Shift" not in held and last in {"A", "C", "V", "X"})
        return widget_class not in _FIELDS or not is_theirs
    if widget_class in _FIELDS:
        return False
    if last in MOVING:
        return widget_class not in _MOVED_IN
    if last in PRESSING:
        return widget_class in {"Canvas", "Tk", "Toplevel", "TFrame", ""}
    return True


_FIELDS: Final = {"TEntry", "TCombobox", "TSpinbox", "Text", "Entry", "Listbox", "Menu"}
_MOVED_IN: Final = {"Treeview", "TScale", "TNotebook"}
