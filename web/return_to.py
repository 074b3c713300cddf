"""The way back to the page a request came from."""

from __future__ import annotations

from urllib.parse import parse_qsl, urlencode, urlsplit, urlunsplit

from flask import request, url_for


def get_return_address(said: str = "") -> str:
    """The page the request came from, if it was one of ours, which then says what was done; else the first page."""
    try:
        here, there = urlsplit(request.host_url), urlsplit(_plain(request.referrer or ""))
    except ValueError:
        return url_for("today.show", said=said or None)
    own = there[:2] == here[:2] and there.path.startswith("/") and not there.path.startswith("//")
    if not own:
        return url_for("today.show", said=said or None)
    asked = [(name, value) for name, value in parse_qsl(there.query) if name != "said"]
    return urlunsplit(("", "", there.path, urlencode(asked + ([("said", said)] if said else [])), ""))


def _plain(address: str) -> str:
    """The address; nothing where it holds what browsers read in their own ways (backslash, control character)."""
    return address if address.isascii() and address.isprintable() and "\\" not in address else ""
