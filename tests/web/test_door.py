"""The door over the wire: paths that lead out, bodies that never end, slow clients, and what a fault may show.

What is promised of the door, against the real server. Framing: RFC 9112; statuses: RFC 9110.
"""

from __future__ import annotations

import logging
import re
import shutil
import socket
import threading
import time
from collections.abc import Callable
from contextlib import ExitStack, suppress
from pathlib import Path
from urllib.parse import unquote

import door_hands
import pytest
from door_hands import LOOPBACK, Served
from flask import Flask
from web_visits import VISITS

import web
from web import server

MIB = 1024 * 1024
PAGE_SECONDS = 2.0
SECRET = b"what lies beside the survey"


@pytest.fixture(scope="module")
def door(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Served:
    room = tmp_path_factory.mktemp("door")
    shutil.copytree(built, room / "heap")
    for place in (room, room / "heap"):
        (place / "secret.txt").write_bytes(SECRET)
    return door_hands.served(room / "heap")


def status(answer: bytes) -> int:
    """The status of a raw answer; 0 where the line was closed without one."""
    return int(answer.split(b" ", 2)[1]) if answer.startswith(b"HTTP/") else 0


# Row 16. Forms of path traversal as OWASP's testing guide lists them (WSTG-ATHZ-01), and names that Windows keeps for
# its devices (Microsoft, "Naming Files, Paths, and Namespaces"). {} is the file that is aimed at.
FORMS = (
    "../{}", "../../{}", "../../../{}", "..%2f{}", "%2e%2e/{}", "%2e%2e%2f{}", "%2E%2E%2F%2e%2e%2F{}", "..\\{}",
    "..%5c{}", "%2e%2e%5c{}", "....//{}", "....\\/{}", "..;/{}", "..%3b/{}", "%252e%252e%252f{}", "..%252f{}",
    "..%c0%af{}", "..%ef%bc%8f{}", "%uff0e%uff0e/{}", "..%00/{}", "{}%00.jpg", "./../{}", "/../{}", "//../{}",
    "/{}", "%2f{}", "file:///{}", "C:\\{}", "C:%5c{}", "\\\\?\\C:\\{}", "NUL", "CON.jpg", "aux", "lpt1.txt",
)  # fmt: skip
STEMS = ("/static/", "/static/js/", "/pictures/", "/pictures/1/", "/photos/", "/photos/1/")
AIMS = ("secret.txt", "survey.db", "guard.py", "etc/passwd", "web/guard.py", "templates/base.html")
MARKS = (SECRET, b"SQLite format 3", b"Who may ask", b"root:", b"{% block")


def leaks(ask: Callable[[str], tuple[int, bytes]]) -> list[str]:
    """Addresses that were answered with something that lies elsewhere, or broke the server."""
    found = []
    for stem in STEMS:
        for form in FORMS:
            for aim in AIMS if "{}" in form else ("",):
                address = stem + form.format(aim)
                code, body = ask(address)
                if code >= 500 or any(mark in body for mark in MARKS):
                    found.append(f"{address}: {code}")
    return found


def test_no_path_leads_out(door: Served) -> None:
    assert len(FORMS) == 34

    def ask(address: str) -> tuple[int, bytes]:
        with socket.create_connection((LOOPBACK, door.port), timeout=30) as line:
            line.sendall(door.head(f"GET {address} HTTP/1.1", "Connection: close"))
            got = b""
            while piece := line.recv(65536):
                got += piece
        assert status(got) in (200, 303, 308, 400, 404), address
        assert status(got) != 200 or address.rstrip("/") in ("/photos", "/photos/1"), address
        return status(got), got

    assert leaks(ask) == []


def test_a_careless_door_would_be_noticed(tmp_path: Path) -> None:
    """The same addresses, asked of a view that joins a path from them without a look."""
    careless = Flask("careless", static_folder=None)
    (tmp_path / "static").mkdir()
    (tmp_path / "secret.txt").write_bytes(SECRET)

    @careless.get("/static/<path:name>")
    def static(name: str) -> bytes:
        return (tmp_path / "static" / unquote(name)).read_bytes()

    def ask(address: str) -> tuple[int, bytes]:
        answer = careless.test_client().get(address)
        return answer.status_code, answer.data

    assert len(leaks(ask)) > 10


# Row 19.


@pytest.mark.bench
def test_an_oversize_body_is_refused_before_it_arrives(door: Served) -> None:
    """Fifty gigabytes are announced, none is waited for."""
    begun = time.perf_counter()
    assert status(door.raw(door.head("POST /photos/add HTTP/1.1", "Content-Length: 50000000000"))) == 413
    assert time.perf_counter() - begun < PAGE_SECONDS


def test_a_body_without_an_end_is_refused_at_the_limit(door: Served) -> None:
    chunk, sent = b"10000\r\n" + bytes(0x10000) + b"\r\n", 0
    with socket.create_connection((LOOPBACK, door.port), timeout=30) as line:
        line.sendall(door.head("POST /photos/add HTTP/1.1", "Transfer-Encoding: chunked"))
        line.setblocking(False)
        answer = b""
        end = time.monotonic() + 30
        while not answer and sent < 100 * MIB and time.monotonic() < end:
            try:
                sent += line.send(chunk) if sent % len(chunk) == 0 else line.send(chunk[sent % len(chunk) :])
            except BlockingIOError:
                time.sleep(0.001)
            except (ConnectionResetError, BrokenPipeError):
                break
            try:
                answer = line.recv(65536)
            except BlockingIOError:
                continue
            except ConnectionResetError:
                break
    assert 59 * MIB < sent < 80 * MIB and status(answer) in (413, 0)
    assert door.ask("GET", "/")[0] == 200


def test_too_many_fields_are_refused(door: Served) -> None:
    piece = b'--x\r\nContent-Disposition: form-data; name="a"\r\n\r\n1\r\n'
    kind = "multipart/form-data; boundary=x"
    own = {"Origin": f"http://{door.host}", "Content_Type": kind}
    code, _, body = door.ask("POST", "/photos/add", piece * 3000 + b"--x--\r\n", **own)
    assert code == 413 and b"Send fewer photos at once" in body


@pytest.mark.parametrize("lines", [
    ("Content-Length: 5", "Transfer-Encoding: chunked"), ("Content-Length: 5", "Content-Length: 6"),
    ("Content-Length: -5",), ("Content-Length: +5",), ("Content-Length: 0x5",), ("Content-Length: 5 5",),
    ("Transfer-Encoding: gzip",), ("Transfer-Encoding: chunked, chunked",), ("Transfer-Encoding: xchunked",),
    ("X: a\nb: c",), (" folded: yes",), ("no colon",), ("Bad Name: x",), ("X: " + "a" * 40_000,),
    *[tuple(f"X-{n}: {'b' * 80}" for n in range(1000))],
])  # fmt: skip
def test_a_badly_framed_request_is_refused(door: Served, lines: tuple[str, ...]) -> None:
    """RFC 9112, sections 5.1, 6.1 and 6.3: refused, or the line is closed."""
    smuggled = b"0\r\n\r\nGET /machine HTTP/1.1\r\nHost: " + door.host.encode() + b"\r\n\r\n"
    answer = door.raw(door.head("POST /photos/add HTTP/1.1", *lines) + smuggled)
    assert status(answer) in (0, 400, 403, 413, 431, 501), answer[:200]
    assert b"Traceback" not in answer


@pytest.mark.parametrize("first", [
    "GET / HTTP/9.9", "GET /" + "a" * 40_000 + " HTTP/1.1", "GET", "GET / HTTP/1.1 x", "get / HTTP/1.1",
    "G\x00T / HTTP/1.1", "TRACE / HTTP/1.1", "CONNECT evil.example:443 HTTP/1.1", "OPTIONS * HTTP/1.1",
    "GET http:// HTTP/1.1", "GET /%zz HTTP/1.1", "GET ? HTTP/1.1", "GET # HTTP/1.1", "GET http://[::1 HTTP/1.1",
])  # fmt: skip
def test_an_odd_first_line_breaks_nothing(door: Served, first: str) -> None:
    answer = door.raw(door.head(first, "Connection: close"))
    assert status(answer) < 500 or status(answer) == 501, answer[:200]
    assert b"Traceback" not in answer
    assert door.ask("GET", "/parts/")[0] == 200


SLOW = {
    "a head that is never whole": lambda door: door.head("GET / HTTP/1.1")[:-4],
    "a body that never comes": lambda door: door.head("POST /photos/add HTTP/1.1", "Content-Length: 1000000") + b"--x",
    "a chunk that never comes": lambda door: (
        door.head("POST /photos/add HTTP/1.1", "Transfer-Encoding: chunked") + b"9"
    ),
    "nothing at all": lambda door: b"",
    "an answer that is never read": lambda door: door.head("GET /static/teachest.css HTTP/1.1") * 200,
}


def page_beside_slow_clients(door: Served, manner: str) -> float:
    """The seconds a page takes beside 24 of them; what it took to give up where none came."""
    slowest = 0.0
    with ExitStack() as held:
        lines = [held.enter_context(socket.create_connection((LOOPBACK, door.port), timeout=30)) for _ in range(24)]
        for _ in range(3 if manner == "an answer that is never read" else 1):
            for line in lines:
                line.sendall(SLOW[manner](door))
            begun = time.perf_counter()
            with suppress(TimeoutError):
                assert door.ask("GET", "/", patience=2 * PAGE_SECONDS)[0] == 200
            slowest = max(slowest, time.perf_counter() - begun)
    return slowest


@pytest.mark.bench
@pytest.mark.parametrize("manner", SLOW)
def test_slow_clients_hold_up_no_page(door: Served, manner: str) -> None:
    assert page_beside_slow_clients(door, manner) < PAGE_SECONDS


@pytest.mark.parametrize("manner", ["a head that is never whole", "a body that never comes", "nothing at all"])
def test_a_door_that_waits_for_each_client_would_be_noticed(built: Path, tmp_path: Path, manner: str) -> None:
    """The same pages behind eight threads that read a request to its end before they see to another."""
    ear = socket.create_server((LOOPBACK, 0), backlog=64)
    port, key = ear.getsockname()[1], "k" * 32
    app = web.create_app(Path(shutil.copytree(built, tmp_path / "heap")), port, key)
    crew = [threading.Thread(target=patient, args=(ear, app), daemon=True) for _ in range(8)]
    for one in crew:
        one.start()
    door = Served(port, key)
    assert door.ask("GET", "/", patience=10)[0] == 200
    assert page_beside_slow_clients(door, manner) > PAGE_SECONDS
    for _ in crew:  # the slow ones are gone; each thread answers what is left and is told to go home
        door.raw(door.head("GET / HTTP/1.1", "Go-Home: yes"))
    for one in crew:
        one.join(30)
    ear.close()
    app.extensions["survey"].close()


def patient(ear: socket.socket, app: Flask) -> None:
    """Answer one client after another, each when its whole request is there; until told to go home."""
    host, home = f"{LOOPBACK}:{ear.getsockname()[1]}", False
    while not home:
        line, _ = ear.accept()
        with line, line.makefile("rb") as said:
            head = b""
            while not head.endswith(b"\r\n\r\n") and (piece := said.readline()):
                head += piece
            wanted = re.search(rb"Content-Length: (\d+)", head)
            whole = len(said.read(int(wanted[1]))) == int(wanted[1]) if wanted else True
            cookie = re.search(rb"Cookie: ([^\r]+)", head)
            if whole and cookie:
                home = b"Go-Home" in head
                asked = {"Host": host, "Cookie": cookie[1].decode()}
                page = app.test_client(use_cookies=False).get("/", headers=asked).get_data()
                with suppress(OSError):
                    line.sendall(
                        b"HTTP/1.1 200 OK\r\nConnection: close\r\nContent-Length: %d\r\n\r\n" % len(page) + page
                    )


def test_the_servers_limits_are_those_that_are_promised(
    built: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(built, tmp_path / "heap")
    given: dict[str, object] = {}

    class Stopped(Exception):
        """Instead of a server."""

    def noted(app: Flask, **limits: object) -> None:
        given.update(limits, debug=app.debug, form_parts=app.config["MAX_FORM_PARTS"])
        raise Stopped

    monkeypatch.setenv("FLASK_DEBUG", "1")
    monkeypatch.setattr(server, "create_server", noted)
    with pytest.raises(Stopped):
        web.serve(tmp_path / "heap", 0, False, print)
    lanes = given.pop("_dispatcher")
    assert isinstance(lanes, server.Lanes) and len(lanes.threads) == 8
    lanes.shutdown()
    (ear,) = given.pop("sockets")  # type: ignore[misc]
    ear.close()
    assert given == {
        "ident": None, "max_request_body_size": 60 * MIB, "max_request_header_size": 32 * 1024, "connection_limit": 200,
        "channel_timeout": 30, "debug": False, "form_parts": 1000,
    }  # fmt: skip


# Row 22.


def fails(*_: object, **__: object) -> None:
    raise RuntimeError("a secret of the inside")


def shows_its_inside(body: bytes) -> bool:
    return bool(re.search(rb"Traceback|File &#34;|File \"|secret of the inside|RuntimeError|\.py\b|werkzeug", body))


@pytest.mark.parametrize("debug", ["", "1"])
def test_a_view_that_fails_shows_nothing_of_the_inside(
    built: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture, debug: str
) -> None:
    shutil.copytree(built, tmp_path / "heap")
    monkeypatch.setenv("FLASK_DEBUG", debug)
    monkeypatch.setattr("web.pages.report.write_report", fails)
    door = door_hands.served(tmp_path / "heap")
    with caplog.at_level(logging.CRITICAL + 1):
        for more in ({}, {"Accept": "application/json"}):
            code, headers, body = door.ask("GET", "/report/take/csv", **more)
            assert code == 500 and b"went wrong" in body and not shows_its_inside(body)
            assert "server" not in headers and headers["cache-control"] == "no-store"
        monkeypatch.setattr("web.app.get_machine", fails)  # now the page that says sorry fails too
        code, headers, body = door.ask("GET", "/report/take/csv")
        assert code == 500 and not shows_its_inside(body) and "server" not in headers


def test_a_door_in_debug_would_be_noticed() -> None:
    """What werkzeug's debugger shows of the same fault."""
    from werkzeug.debug import DebuggedApplication
    from werkzeug.test import Client

    open_door = Flask("open")
    open_door.config["PROPAGATE_EXCEPTIONS"] = True
    open_door.add_url_rule("/", view_func=fails)
    assert shows_its_inside(Client(DebuggedApplication(open_door)).get("/").data)


@pytest.mark.parametrize("address", [
    "/console", "/console/", "/?__debugger__=yes&cmd=resource&f=debugger.js", "/debug", "/.git/config",
    "/server-status", "/none?__debugger__=yes&cmd=pinauth&pin=123&s=x",
])  # fmt: skip
def test_there_is_no_console(door: Served, address: str) -> None:
    code, _, body = door.ask("GET", address)
    assert code == (200 if address.startswith("/?") else 404) and not shows_its_inside(body)
    assert b"debugger.js" not in body and b"EVALEX" not in body


def test_no_page_is_kept_by_the_browser(door: Served) -> None:
    """RFC 9111, section 5.2.2.5. Only files whose address changes with their content may be kept."""
    for rule, examples in VISITS.items():
        for address in examples:
            _, headers, _ = door.ask("GET", address)
            may_be_kept = rule.startswith(("/static/", "/pictures/"))
            assert headers["cache-control"] == "no-store" or may_be_kept, address


# Row 15.


LINES = (
    "GET / HTTP/1.1", "GET http://evil.example/ HTTP/1.1", "GET https://{own}/ HTTP/1.1",
    "GET //evil.example/ HTTP/1.1", "GET http://{own}@evil.example/ HTTP/1.1",
    "GET http://evil.example:80/parts/ HTTP/1.0", "GET http://{own}/ HTTP/1.1",
)  # fmt: skip
FOREIGN_HOSTS = (
    "evil.example", "{own}.evil.example", "{own}, evil.example", "x@{own}", "[{own}]", "{own}/", "{own}#", "{own}0", "",
)  # fmt: skip
FOREIGN_ORIGINS = (
    "null", "http://evil.example", "http://{own}.evil.example", "http://{own}@evil.example", "http://evil.example/{own}",
    "https://{own}", "http://{own}0", "http://{own}/", " http://evil.example http://{own}", "file://", "HTTP://{own}",
    "", "http://{own}, http://evil.example", "http://127.1:{port}", "http://2130706433:{port}",
)  # fmt: skip


@pytest.mark.parametrize("first", LINES)
@pytest.mark.parametrize("host", FOREIGN_HOSTS)
def test_a_foreign_host_gets_nothing_whatever_the_line_says(door: Served, first: str, host: str) -> None:
    lines = [part.replace("{own}", door.host) for part in (first, f"Host: {host}", f"Cookie: {door.cookie}", "", "")]
    answer = door.raw("\r\n".join(lines).encode())
    assert status(answer) in (400, 421) and b"Ferryman" not in answer


@pytest.mark.parametrize("first", [one for one in LINES if "://" in one])
def test_a_whole_address_in_the_first_line_gets_nothing(door: Served, first: str) -> None:
    """RFC 9112, 3.2.2: it outweighs the Host, so a right Host beside it does not help."""
    answer = door.raw(door.head(first.replace("{own}", door.host), "Connection: close"))
    assert status(answer) == 421 and b"Ferryman" not in answer


@pytest.mark.parametrize("origin", FOREIGN_ORIGINS)
def test_another_origin_changes_nothing(door: Served, origin: str) -> None:
    told = origin.replace("{own}", door.host).replace("{port}", str(door.port))
    for more in ({}, {"Sec_Fetch_Site": "same-origin"}):
        assert door.ask("POST", "/parts/new", b"component=unknown", Origin=told, **more)[0] == 403
    assert door.ask("POST", "/parts/new", b"component=unknown")[0] == 403, "neither header"
