"""A few choices of the person at this computer; of an athlete only the code of the run left open.

Only what differs from the defaults is in the file, and a value that cannot be used falls back to
its default: a bad settings file never keeps the window from opening.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path

from tapmark.errors import NotThere, StoreError
from tapmark.kinds import Flag, Kind, Many, NotAsExpected, Number, Text
from tapmark.store import files

MOST_RECENT = 8


@dataclass(frozen=True)
class Settings:
    """Choices of this computer.

    window:        size and place, as Tk writes it: "1280x700+20+10"; "" = by itself.
    text_size:     factor on all text of the window.
    recent:        folders of squads, the last one used first.
    last_folder:   where clips were looked for last.
    place:         which run, page and prompt were open, for the next start; "" after a delete.
    """

    window: str = ""
    is_maximised: bool = False
    text_size: float = 1.0
    left_handed: bool = False
    recent: tuple[str, ...] = ()
    last_folder: str = ""
    place: str = ""

    def with_recent(self, folder: str) -> "Settings":
        """Return the settings with a squad's folder first among the recent ones."""
        others = [each for each in self.recent if each != folder]
        return replace(self, recent=(folder, *others)[:MOST_RECENT])


_KINDS: Mapping[str, Kind] = {
    "window": Text(60),
    "is_maximised": Flag(),
    "text_size": Number(0.5, 3.0),
    "left_handed": Flag(),
    "recent": Many(Text(4_000), most=MOST_RECENT),
    "last_folder": Text(4_000),
    "place": Text(400),
}


def settings_path(environment: Mapping[str, str], platform: str) -> Path:
    """Return where the settings of this person lie.

    environment: os.environ; platform: sys.platform. Both are the caller's to give.
    """
    home = Path(environment.get("HOME") or environment.get("USERPROFILE") or ".")
    if platform == "win32":
        base = environment.get("APPDATA") or home / "AppData" / "Roaming"
    elif platform == "darwin":
        base = home / "Library" / "Application Support"
    else:
        base = environment.get("XDG_CONFIG_HOME") or home / ".config"
    return Path(base) / "tapmark" / "settings.json"


def load_settings(path: Path) -> tuple[Settings, tuple[str, ...]]:
    """Return the settings and a sentence for each value that had to fall back."""
    try:
        plain = files.json_value(files.read_bytes(path), path.name)
    except StoreError as error:
        return Settings(), () if isinstance(error, NotThere) else (str(error),)
    if not isinstance(plain, dict):
        return Settings(), (f"“{path.name}” holds no settings; the defaults are used.",)
    settings, notes = Settings(), []
    for key, kind in _KINDS.items():
        try:
            if key in plain:
                settings = replace(settings, **{key: kind.read(plain[key], [])})
        except NotAsExpected as wrong:
            notes.append(f"Setting “{key}” is not {wrong.expected}; the default is used.")
    return settings, tuple(notes)


def save_settings(path: Path, settings: Settings) -> None:
    """Write what differs from the defaults; raise CannotWrite, and wait for no other program."""
    defaults = Settings()
    names = [f.name for f in fields(Settings)]
    differs = [key for key in names if getattr(settings, key) != getattr(defaults, key)]
    files.make_folder(path.parent)
    files.write_json(path, {key: _KINDS[key].write(getattr(settings, key)) for key in differs}, 0.0)
