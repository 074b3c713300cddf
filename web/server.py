"""Serving one survey under waitress, to this machine only."""

from __future__ import annotations

import errno
import logging
import socket
import sys
import webbrowser
from collections.abc import Callable
from pathlib import Path

from waitress import create_server
from waitress.channel import HTTPChannel
from waitress.task import ThreadedTaskDispatcher

from survey.errors import BadValue, PortBusy
from web.app import BODY_LIMIT_BYTES, create_app
from web.guard import new_key

LOOPBACK = "127.0.0.1"
THREADS = 8
TAKING_IN = ("POST", "/photos/add")
"""Taking photos in holds the folder's lock, so one thread does as much as many, and the others stay free."""


class Lanes(ThreadedTaskDispatcher):  # type: ignore[misc]  # the library has no types
    """Hands requests to threads: photos to one of their own, so that no heap of them keeps a page waiting."""

    def __init__(self) -> None:
        super().__init__()
        self._intake = ThreadedTaskDispatcher()
        self.set_thread_count(THREADS)
        self._intake.set_thread_count(1)

    def add_task(self, task: HTTPChannel) -> None:
        """Queue what the channel asks next."""
        asked = task.requests[0]
        if (getattr(asked, "command", ""), getattr(asked, "path", "")) == TAKING_IN:
            self._intake.add_task(task)
        else:
            super().add_task(task)

    def shutdown(self, cancel_pending: bool = True, timeout: int = 5) -> bool:
        """End all threads; as in waitress."""
        self._intake.shutdown(cancel_pending, timeout)
        return bool(super().shutdown(cancel_pending, timeout))


def serve(folder: Path, port: int, open_browser: bool, announce: Callable[[str], None]) -> None:
    """Show the survey on this machine until Ctrl-C; ``announce`` is told the address with its key, alone on its line.

    Args:
        port: where to listen; 0 means any that is free.

    Raises:
        PortBusy: the port cannot be had.
        Refusal: the survey cannot be opened.
    """
    ear = listening(port)
    try:
        bound = int(ear.getsockname()[1])
        key = new_key()
        app = create_app(folder, bound, key)
    except BaseException:
        ear.close()
        raise
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    server = create_server(
        app,
        sockets=[ear],
        _dispatcher=Lanes(),
        ident=None,
        max_request_body_size=BODY_LIMIT_BYTES,
        max_request_header_size=32 * 1024,
        connection_limit=200,
        channel_timeout=30,
    )
    address = f"http://{LOOPBACK}:{bound}/?key={key}"
    announce(address)
    if open_browser:
        webbrowser.open(address)
    try:
        server.run()
    finally:
        server.close()
        app.extensions["survey"].close()


def listening(port: int) -> socket.socket:
    """A socket bound to that port of this machine, unreachable from any other.

    Raises:
        BadValue: no such port number.
        PortBusy: the port is taken or may not be used.
    """
    if not 0 <= port <= 65535:
        raise BadValue(f"{port} is no port.", "Give --port a number from 0 to 65535; 0 takes any that is free.")
    ear = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if sys.platform != "win32":
        # A port that was just let go may be taken again at once; on Windows the option would share a live one.
        ear.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        ear.bind((LOOPBACK, port))
    except OSError as fault:
        ear.close()
        why = "is not for ordinary users" if fault.errno == errno.EACCES else "is already in use"
        raise PortBusy(f"Port {port} {why}.", "Give another with --port, or --port 0 for any that is free.") from None
    return ear
