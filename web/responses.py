"""How a view answers after it changed something."""

from __future__ import annotations

from flask import redirect, request, url_for
from werkzeug.wrappers import Response


def redirect_saying(endpoint: str, said: str = "", anchor: str = "", /, **values: object) -> Response:
    """Send the browser on to a page, which then says what was done (a key of ``web.words.MESSAGES``).

    303, so that going back or loading again sends nothing twice.
    """
    return redirect(url_for(endpoint, said=said or None, _anchor=anchor or None, **values), 303)  # type: ignore[arg-type]


def accepts_json() -> bool:
    """Whether one of our scripts asks: a browser that follows a form or a link names HTML before JSON."""
    return request.accept_mimetypes.best_match(("text/html", "application/json")) == "application/json"
