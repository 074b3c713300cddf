"""Hands for the tests of the door: a served survey, and asking it as a browser does, or byte by byte."""

from __future__ import annotations

import http.client
import socket
import threading
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from queue import Queue

import web

LOOPBACK = "127.0.0.1"


@dataclass
class Served:
    """A server of this machine and the key of its run."""

    port: int
    key: str

    @property
    def host(self) -> str:
        return f"{LOOPBACK}:{self.port}"

    @property
    def cookie(self) -> str:
        return f"teachest-{self.port}={self.key}"

    def ask(
        self, method: str, path: str, body: bytes = b"", patience: float = 30, **headers: str
    ) -> tuple[int, dict[str, str], bytes]:
        """Ask as a browser that holds the key; ``Cookie=""`` asks as one that does not. ``patience``: in seconds."""
        connection = http.client.HTTPConnection(LOOPBACK, self.port, timeout=patience)
        dashed = {"Cookie": self.cookie} | {name.replace("_", "-"): value for name, value in headers.items()}
        with closing(connection):
            connection.request(method, path, body or None, dashed)
            answer = connection.getresponse()
            return answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read()

    def head(self, first_line: str, *lines: str) -> bytes:
        """The head of a request as our own page would send it, and these lines."""
        own = (f"Host: {self.host}", f"Origin: http://{self.host}", f"Cookie: {self.cookie}")
        return "\r\n".join((first_line, *own, *lines, "", "")).encode()

    def raw(self, sent: bytes) -> bytes:
        """Send bytes as they are; what comes back until the head of an answer is whole or the line is closed."""
        with socket.create_connection((LOOPBACK, self.port), timeout=30) as line:
            line.sendall(sent)
            got = b""
            while b"\r\n\r\n" not in got and (piece := line.recv(65536)):
                got += piece
            return got


def served(folder: Path) -> Served:
    """Serve the survey until the tests end; a person ends it with Ctrl-C."""
    said: Queue[str] = Queue()
    threading.Thread(target=web.serve, args=(folder, 0, False, said.put), daemon=True).start()
    address, _, key = said.get(timeout=30).partition("/?key=")
    return Served(int(address.rpartition(":")[2]), key)
