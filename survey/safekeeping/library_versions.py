"""The oldest libraries that strangers' files are opened with: older ones have known holes that are mended since."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from importlib.metadata import PackageNotFoundError, version

_DIGITS = re.compile(r"[0-9]*")

OLDEST_VERSIONS: Mapping[str, tuple[int, int, int]] = {
    "Pillow": (13, 0, 0),
    "Werkzeug": (3, 1, 6),
    "libheif": (1, 23, 2),
    "libwebp": (1, 3, 2),
}
"""libwebp: CVE-2023-4863 (its notes of release, from memory); the others are the house's own floors."""


def find_outdated_libraries(held: Mapping[str, str] | None = None) -> list[str]:
    """Each library that is older than it should be, in a sentence. ``held``: versions by name, if not those installed.

    One that is not there, or whose version is unknown, is left out: what needs it refuses by itself.
    """
    versions = {name: ask() for name, ask in _ASKED.items()} if held is None else held
    return [
        f"{name} is {versions[name]}; holes that are known were mended by {'.'.join(map(str, floor))}."
        for name, floor in OLDEST_VERSIONS.items()
        if versions.get(name) and _version_figures(versions[name]) < floor
    ]


def _version_figures(version_text: str) -> tuple[int, ...]:
    """The three figures a version begins with: ``1.6`` and ``1.6.0rc1`` are (1, 6, 0)."""
    digits = [_DIGITS.match(part) for part in [*version_text.split("."), "", ""][:3]]
    return tuple(int(match.group() or 0) if match else 0 for match in digits)


def _package(name: str) -> Callable[[], str]:
    def ask() -> str:
        try:
            return version(name)
        except PackageNotFoundError:
            return ""

    return ask


def _libheif() -> str:
    try:
        import pillow_heif
    except ImportError:
        return ""
    return str(pillow_heif.libheif_version())


def _libwebp() -> str:
    from PIL import features

    return features.version("webp") or ""


_ASKED: Mapping[str, Callable[[], str]] = {
    "Pillow": _package("pillow"), "Werkzeug": _package("werkzeug"), "libheif": _libheif, "libwebp": _libwebp,
}  # fmt: skip
