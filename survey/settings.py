"""The owner's settings: one small TOML file, and the environment above it.

The file is ``config.toml`` in the user's configuration folder for ``teachest`` (``~/.config/teachest`` on Linux,
``~/Library/Application Support/teachest`` on a Mac, ``%LOCALAPPDATA%\\teachest`` on Windows), or the file that
``TEACHEST_CONFIG`` names. Every setting may be given as ``TEACHEST_`` and its name in capitals instead, which wins.
"""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from survey.errors import BadValue, NextStep, ToolMissing
from survey.model.paper import PAPERS, Paper

CONFIG_VARIABLE = "TEACHEST_CONFIG"
PREFIX = "TEACHEST_"

_KIND = re.compile(r"[a-z][a-z0-9-]{0,39}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Settings:
    """What the owner prefers.

    ``surveyor``: the name recorded with every entry; empty means each machine's own surveyor.
    ``paper``: ``a4`` or ``letter``. ``port``: where ``serve`` listens; 0 means any that is free.
    ``kind``: the catalogue a new survey starts from unless another is given.
    """

    surveyor: str = ""
    paper: Paper = "a4"
    port: int = 8750
    kind: str = "lightweight"


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting: its name, its environment variable, its default, what it may be in words, and how to read it."""

    name: str
    variable: str
    default: object
    allowed: str
    read: Callable[[Any], object]


def _read_paper(value: Any) -> object:
    return value.lower() if isinstance(value, str) and value.lower() in PAPERS else None


def _read_port(value: Any) -> object:
    written = isinstance(value, str) and value.isascii() and value.isdigit() and len(value) < 1000
    number = int(value) if written else value
    return number if type(number) is int and 0 <= number <= 65535 else None


_READERS: dict[str, tuple[Callable[[Any], object], str]] = {
    "surveyor": (
        lambda value: value.strip() if isinstance(value, str) and len(value) <= 200 and value.isprintable() else None,
        "a name of up to 200 letters on one line",
    ),
    "paper": (_read_paper, "a4 or letter"),
    "port": (_read_port, "a whole number from 0 to 65535"),
    "kind": (
        lambda value: value if isinstance(value, str) and _KIND.fullmatch(value) else None,
        "the name of a catalogue",
    ),
}
"""How each setting is read (None: it cannot be), and what it may be."""


def list_settings() -> tuple[Setting, ...]:
    """Every setting there is, in the order of ``Settings``."""
    return tuple(
        Setting(field.name, PREFIX + field.name.upper(), field.default, allowed, read)
        for field in fields(Settings)
        for read, allowed in [_READERS[field.name]]
    )


def get_config_path(env: Mapping[str, str] = os.environ) -> Path:
    """Where the settings file is looked for; it need not be there."""
    path = env.get(CONFIG_VARIABLE, "")
    if path:
        return Path(path).expanduser()
    from platformdirs import user_config_path

    return user_config_path("teachest", appauthor=False) / "config.toml"


def load_settings(env: Mapping[str, str] = os.environ) -> Settings:
    """The settings in force: the environment first, then the file, then the defaults.

    Args:
        env: the environment to read; which folder is the user's own always comes from the process.

    Raises:
        BadValue: a setting cannot be read or is not known; the sentence names the file and line, or the variable,
            and what is allowed.
    """
    chosen = _from_file(get_config_path(env), needed=bool(env.get(CONFIG_VARIABLE)))
    for setting in list_settings():
        if setting.variable in env:
            chosen[setting.name] = _read(setting, env[setting.variable], f"The variable {setting.variable}")
    return Settings(**chosen)


def _from_file(path: Path, needed: bool) -> dict[str, Any]:
    """The settings in the file; none if there is no file. ``needed``: refuse if there is none."""
    try:
        text = path.read_text("utf-8")
    except FileNotFoundError:
        if needed:
            raise BadValue(f"There is no settings file {path}.", f"Make it, or unset {CONFIG_VARIABLE}.") from None
        return {}
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise BadValue(f"The settings file {path} cannot be read: {why}.", "Mend it or take it away.") from error
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadValue(f"The settings file {path} is not TOML: {error}.", 'Write lines like: paper = "a4"') from error
    by_name = {setting.name: setting for setting in list_settings()}
    chosen = {}
    for name, value in content.items():
        where = f"{path}, line {_line_of(name, text)}"
        if name not in by_name:
            *names, last = by_name
            next_step = f"The settings are {', '.join(names)} and {last}."
            raise BadValue(f"{where}: there is no setting “{name}”.", next_step)
        chosen[name] = _read(by_name[name], value, where)
    return chosen


def _line_of(name: str, text: str) -> int:
    """The line, from 1, on which a top-level key or table of that name is written."""
    spelt = re.compile(rf"""\s*\[*\s*["']?{re.escape(name)}["']?\s*[=.\]]""")
    return next((number for number, line in enumerate(text.splitlines(), 1) if spelt.match(line)), 1)


def _read(setting: Setting, value: object, where: str) -> Any:
    if (chosen := setting.read(value)) is None:
        excerpt = str(value) if len(str(value)) <= 60 else f"{str(value)[:57]}..."
        next_step = NextStep.SEE_KINDS if setting.name == "kind" else f"It may be {setting.allowed}."
        raise BadValue(f"{where}: {setting.name} cannot be “{excerpt}”.", next_step)
    return chosen


def get_sample_photos_dir() -> Path:
    """The folder of the demo's photos: inside an installed copy, or at the top of the repository.

    Raises:
        ToolMissing: this copy was put together without them.
    """
    package = Path(__file__).resolve().parent
    for folder in (package / "data" / "sample_photos", package.parent / "sample_photos"):
        if folder.is_dir():
            return folder
    raise ToolMissing(
        "The sample photos of the demo are not in this copy of Teachest.",
        "Install it from the whole repository as README.md says.",
    )
