"""Who may ask, and what every answer forbids.

A page of another site, opened in the same browser, can send requests to this machine. It cannot forge the Host,
Origin and Sec-Fetch-Site headers, so these decide. Another program of this machine can forge them all; it does not
know the key, which is made anew at each start and stands in the printed address. Every request passes ``CHECKS`` in
their order before any view.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Callable

from flask import Flask, Response, current_app, jsonify, make_response, redirect, request

from web.responses import accepts_json

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


KEY_BYTES = 24
"""More than the 128 bits that nobody guesses (RFC 6749, section 10.10, asks for a chance of 2^-128 at most)."""


def new_key() -> str:
    """A key for one run of the server, in letters that an address may hold."""
    return secrets.token_urlsafe(KEY_BYTES)


def watch(app: Flask, port: int, key: str | None) -> None:
    """Set the guard before every view and the headers after it; without a key nobody is asked for one."""
    app.config["OWN_HOSTS"] = hosts_of(port)
    app.config["OWN_KEY"] = key
    # A browser keeps its cookies by host and not by port: two servers of this machine must not share a name.
    app.config["KEY_COOKIE"] = f"teachest-{port}"
    app.before_request(_admit)
    app.after_request(_seal)


def _known_host() -> Response | None:
    # A whole address in the request's first line outweighs its Host (RFC 9112, 3.2.2); only a proxy is sent one.
    by_path = request.environ.get("REQUEST_URI", "/").startswith("/")
    if by_path and request.headers.get("Host", "") in current_app.config["OWN_HOSTS"]:
        return None
    return _refuse(421, "This address is not one that Teachest answers to.", "Use the one that teachest serve printed.")


def _own_page() -> Response | None:
    if request.method in SAFE_METHODS:
        return None
    origin, site = request.headers.get("Origin"), request.headers.get("Sec-Fetch-Site")
    foreign = origin is not None and origin not in {f"http://{host}" for host in current_app.config["OWN_HOSTS"]}
    if foreign or (site is not None and site != "same-origin") or (origin is None and site is None):
        return _refuse(403, "This was not sent from one of Teachest's own pages, so nothing was changed.")
    return None


def _key_known() -> Response | None:
    key = current_app.config["OWN_KEY"]
    if key is None:
        return None
    name = current_app.config["KEY_COOKIE"]
    if request.path == "/" and request.method == "GET" and _same(request.args.get("key", ""), key):
        # Out of the address at once: what stands there is kept in the browser's history and seen over a shoulder.
        clean = make_response(redirect("/", 303))
        clean.set_cookie(name, key, httponly=True, samesite="Strict")
        return clean
    # Another server of this machine may have set a cookie of this name too; it must not hide ours.
    if any(_same(held, key) for held in request.cookies.getlist(name)):
        return None
    return _refuse(
        403,
        "Teachest does not know this browser.",
        "Open the address that teachest serve printed when it was started; it holds the key of this run.",
    )


def _same(given: str, key: str) -> bool:
    return hmac.compare_digest(given.encode("utf-8", "replace"), key.encode())


CHECKS: tuple[Callable[[], Response | None], ...] = (_known_host, _own_page, _key_known)


def _admit() -> Response | None:
    return next((refusal for check in CHECKS if (refusal := check()) is not None), None)


def _refuse(status: int, sentence: str, next_step: str = "") -> Response:
    if accepts_json():
        refusal = jsonify(says=sentence, next=next_step)
        refusal.status_code = status
        return refusal
    return Response(f"{sentence} {next_step}".strip() + "\n", status, mimetype="text/plain")


def _seal(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    response.headers.setdefault("Cache-Control", "no-store")
    return response
