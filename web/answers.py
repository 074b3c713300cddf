"""How a view answers after it changed something."""

from __future__ import annotations

from urllib.parse import urlsplit, urlunsplit

from flask import redirect, request, url_for
from werkzeug.wrappers import Response


def see(endpoint: str, said: str = "", anchor: str = "", /, **values: object) -> Response:
    """Send the browser on to a page, which then says what was done (a key of ``web.words.SAID``).

    303, so that going back or loading again sends nothing twice.
    """
    return redirect(url_for(endpoint, said=said or None, _anchor=anchor or None, **values), 303)  # type: ignore[arg-type]


def wants_json() -> bool:
    """Whether one of our scripts asks: a browser that follows a form or a link names HTML before JSON."""
    return request.accept_mimetypes.best_match(("text/html", "application/json")) == "application/json"


def way_back() -> str:
    """The page the request came from, if it was one of ours; else the first page."""
    try:
        here, there = urlsplit(request.host_url), urlsplit(_plain(request.referrer or ""))
    except ValueError:
        return url_for("today.show")
    own = there[:2] == here[:2] and there.path.startswith("/") and not there.path.startswith("//")
    return urlunsplit(("", "", there.path, there.query, "")) if own else url_for("today.show")


def _plain(address: str) -> str:
    """The address; nothing where it holds what browsers read in their own ways (backslash, control character)."""
    return address if address.isascii() and address.isprintable() and "\\" not in address else ""
