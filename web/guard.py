"""Who may ask, and what every answer forbids.

A page of another site, opened in the same browser, can send requests to this machine. It cannot forge the Host,
Origin and Sec-Fetch-Site headers, so these decide. Every request passes ``CHECKS`` in their order before any view.
"""

from __future__ import annotations

from collections.abc import Callable

from flask import Flask, Response, current_app, request

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})

CONTENT_SECURITY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "connect-src 'self'",
        "font-src 'self'",
        "img-src 'self' blob:",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "object-src 'none'",
    )
)

HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY,
    "X-Content-Type-Options": "nosniff",
    # "no-referrer" would turn our own forms' Origin into "null".
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}


def hosts_of(port: int) -> frozenset[str]:
    """The Host headers under which this machine's own browser may ask."""
    names = {f"{name}:{port}" for name in ("127.0.0.1", "localhost")}
    return frozenset(names | {"127.0.0.1", "localhost"}) if port == 80 else frozenset(names)


def watch(app: Flask, hosts: frozenset[str]) -> None:
    """Set the guard before every view and the headers after it."""
    app.config["OWN_HOSTS"] = hosts
    app.before_request(_admit)
    app.after_request(_seal)


def _known_host() -> Response | None:
    if request.headers.get("Host", "") in current_app.config["OWN_HOSTS"]:
        return None
    return _refuse(421, "This address is not one that Teachest answers to. Use the one that teachest serve printed.")


def _own_page() -> Response | None:
    if request.method in SAFE_METHODS:
        return None
    origin, site = request.headers.get("Origin"), request.headers.get("Sec-Fetch-Site")
    foreign = origin is not None and origin not in {f"http://{host}" for host in current_app.config["OWN_HOSTS"]}
    if foreign or (site is not None and site != "same-origin") or (origin is None and site is None):
        return _refuse(403, "This was not sent from one of Teachest's own pages, so nothing was changed.")
    return None


CHECKS: tuple[Callable[[], Response | None], ...] = (_known_host, _own_page)


def _admit() -> Response | None:
    return next((refusal for check in CHECKS if (refusal := check()) is not None), None)


def _refuse(status: int, sentence: str) -> Response:
    return Response(sentence + "\n", status, mimetype="text/plain")


def _seal(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    response.headers.setdefault("Cache-Control", "no-store")
    return response
