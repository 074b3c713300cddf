"""Who may ask the browser door, and how it is served. Facts of the browser: WHATWG Fetch and W3C Fetch Metadata."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path
from queue import Queue

import door_hands
import pytest
from door_hands import Served
from web_client import header_faults

import web
from survey.errors import BadValue, NotASurvey, PortBusy
from survey.parts.verbs import list_parts
from survey.shelf.verbs import make_survey
from web.server import listening

HOST = "127.0.0.1:8750"
GOOD = f"http://{HOST}"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("guard") / "heap"
    make_survey(made, "autocycle", "Guarded").close()
    return made


@pytest.fixture(scope="module")
def app(folder: Path) -> Iterator[object]:
    made = web.create_app(folder, 8750)
    yield made
    made.extensions["survey"].close()


def parts_of(app: object) -> int:
    return len(list_parts(app.extensions["survey"]))  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    "host",
    ["evil.example", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:8751", "localhost.evil.example:8750",
     "127.0.0.1:8750.evil.example",
     "127.0.0.1:8750, evil.example", "127.0.0.1:8750@evil.example", "[::1]:8750", "0.0.0.0:8750", "LOCALHOST:8750", ""],
)  # fmt: skip
def test_only_the_own_address_is_answered(app: object, host: str) -> None:
    """A name that is made to lead here gets nothing (DNS rebinding)."""
    answer = app.test_client().get("/", headers={"Host": host})  # type: ignore[attr-defined]
    assert answer.status_code == 421 and b"Guarded" not in answer.data and not header_faults(answer)


@pytest.mark.parametrize("host", [HOST, "localhost:8750"])
def test_the_own_address_is_answered(app: object, host: str) -> None:
    assert app.test_client().get("/", headers={"Host": host}).status_code == 200  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    "headers",
    [
        {}, {"Origin": "null"}, {"Origin": "http://evil.example"}, {"Origin": f"{GOOD}.evil.example"}, {"Origin": "http://127.0.0.1"},
        {"Origin": "https://127.0.0.1:8750"}, {"Origin": "http://127.0.0.1:8751"}, {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"}, {"Sec-Fetch-Site": "none"}, {"Origin": GOOD, "Sec-Fetch-Site": "cross-site"},
        {"Origin": "null", "Sec-Fetch-Site": "same-origin"}, {"Referer": f"{GOOD}/parts/new"},
    ],
)  # fmt: skip
@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH"])
def test_other_pages_change_nothing(app: object, headers: dict[str, str], method: str) -> None:
    client = app.test_client()  # type: ignore[attr-defined]
    before = parts_of(app)
    answer = client.open("/parts/new", method=method, data={"component": "unknown"}, headers={"Host": HOST, **headers})
    assert answer.status_code == 403 and parts_of(app) == before


@pytest.mark.parametrize(
    "headers",
    [{"Origin": GOOD}, {"Sec-Fetch-Site": "same-origin"}, {"Origin": GOOD, "Sec-Fetch-Site": "same-origin"},
     {"Origin": "http://localhost:8750"}],
)  # fmt: skip
def test_own_pages_may(app: object, headers: dict[str, str]) -> None:
    client = app.test_client()  # type: ignore[attr-defined]
    answer = client.post("/parts/new", data={"component": "unknown", "label": "x"}, headers={"Host": HOST, **headers})
    assert answer.status_code == 303


TRAVERSALS = [
    "../survey.db", "..%2fsurvey.db", "%2e%2e/survey.db", "%2e%2e%2fsurvey.db", "..%5csurvey.db", "..\\survey.db",
    "....//survey.db", "..;/survey.db", "%252e%252e%252fsurvey.db", "..%c0%afsurvey.db", "/etc/passwd", "//etc/passwd",
    "%2fetc%2fpasswd", "file:///etc/passwd", "C:\\Windows\\win.ini", "C:%5cWindows%5cwin.ini", "NUL", "CON.jpg", "aux",
    "a%00.jpg", "1/../../survey.db", "1/thumb/../../../survey.db", "1/%2e%2e/%2e%2e/survey.db", "-1/thumb", "1e0/thumb",
    "0x1/thumb", "１/thumb", "1/original%00.db", "1/original/../../survey.db", "1/view?size=../../survey.db",
]  # fmt: skip


@pytest.mark.parametrize("stem", ["/pictures/", "/static/"])
@pytest.mark.parametrize("trick", TRAVERSALS)
def test_no_path_leads_out(app: object, stem: str, trick: str) -> None:
    """Forms of path traversal as OWASP's testing guide lists them (WSTG-ATHZ-01)."""
    answer = app.test_client().get(stem + trick, headers={"Host": HOST})  # type: ignore[attr-defined]
    assert answer.status_code in (404, 308) and b"SQLite" not in answer.data and b"root:" not in answer.data


@pytest.fixture(scope="module")
def served(folder: Path) -> Served:
    return door_hands.served(folder)


def test_the_printed_address_answers_and_says_nothing_of_its_server(served: Served) -> None:
    status, headers, body = served.ask("GET", "/")
    assert status == 200 and b"Guarded" in body
    assert "server" not in headers


@pytest.mark.parametrize("head", [
    b"GET / HTTP/1.1\r\n\r\n", b"GET / HTTP/1.1\r\nHost: evil.example\r\n\r\n",
    b"GET http://evil.example/ HTTP/1.1\r\nHost: evil.example\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: %(own)s\r\nHost: evil.example\r\n\r\n",
])  # fmt: skip
def test_a_foreign_name_gets_nothing_over_the_wire(served: Served, head: bytes) -> None:
    got = served.raw(head.replace(b"%(own)s", b"127.0.0.1:%d" % served.port))
    assert got.split()[1] in (b"421", b"400") and b"Guarded" not in got


def test_eight_at_once_are_answered(served: Served) -> None:
    answers: Queue[int] = Queue()
    crew = [threading.Thread(target=lambda: answers.put(served.ask("GET", "/gaps/")[0])) for _ in range(8)]
    for one in crew:
        one.start()
    for one in crew:
        one.join(20)
    assert [answers.get_nowait() for _ in crew] == [200] * 8


def test_only_this_machine_is_listened_to(served: Served) -> None:
    with listening(0) as ear:
        assert ear.getsockname()[0] == "127.0.0.1"


def test_a_port_in_use_is_told_with_a_next_step(served: Served, folder: Path) -> None:
    with pytest.raises(PortBusy, match=f"Port {served.port} is already in use.") as refusal:
        web.serve(folder, served.port, False, lambda line: pytest.fail(f"announced {line}"))
    assert "--port 0" in refusal.value.next_step
    with pytest.raises(BadValue, match="70000 is no port"):
        listening(70000)


def test_a_folder_that_is_no_survey_is_not_served(tmp_path: Path) -> None:
    with pytest.raises(NotASurvey):
        web.serve(tmp_path, 0, False, lambda line: pytest.fail(f"announced {line}"))
