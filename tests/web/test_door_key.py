"""The key of one run: every address asks for it, it is taken once from the printed address, and nothing else will do.

Cookies: RFC 6265 (a cookie is kept by host and not by port, section 8.5; HttpOnly, 4.1.2.6)
and its revision RFC 6265bis (SameSite).
"""

from __future__ import annotations

import base64
import http.cookiejar
import re
import shutil
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import door_hands
import pytest
from flask import Flask
from house import TOP
from web_client import header_faults
from web_visits import SENDS, VISITS

import web
from survey.history.verbs import list_events
from web import guard

PORT = 8750
HOST = {"Host": f"127.0.0.1:{PORT}"}
OWN = {**HOST, "Origin": f"http://127.0.0.1:{PORT}"}
KEY = "k" * 31 + "_"
ADDRESSES = sorted({address for visits in VISITS.values() for address in visits} | {"/static/none", "/none", "/?key="})
FORMS = sorted("/".join("1" if piece.startswith("<") else piece for piece in rule.split("/")) for rule in SENDS)


@pytest.fixture(scope="module")
def locked(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    folder = tmp_path_factory.mktemp("key") / "heap"
    shutil.copytree(built, folder)
    made = web.create_app(folder, PORT, KEY)
    yield made
    made.extensions["survey"].close()


def answered(app: Flask) -> list[str]:
    """The addresses that answer somebody without the key with anything but a refusal that says how to come in."""
    client, found = app.test_client(use_cookies=False), []
    asked = (
        [("GET", one) for one in ADDRESSES] + [("HEAD", one) for one in ADDRESSES] + [("POST", one) for one in FORMS]
    )
    for method, address in asked:
        answer = client.open(address, method=method, headers=OWN)
        words = answer.get_data().decode(errors="replace")
        answer.close()
        told = method == "HEAD" or ("address that teachest serve printed" in words and "Ferryman" not in words)
        if answer.status_code != 403 or header_faults(answer) or not told:
            found.append(f"{method} {address}: {answer.status_code}")
    return found


def test_every_address_asks_for_the_key(locked: Flask) -> None:
    before = len(list_events(locked.extensions["survey"]))
    assert answered(locked) == []
    assert len(list_events(locked.extensions["survey"])) == before


def test_a_door_without_that_check_would_be_noticed(locked: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guard, "CHECKS", tuple(one for one in guard.CHECKS if one is not guard._key_known))
    assert len(answered(locked)) > len(ADDRESSES)


def test_the_key_is_taken_from_the_address_into_a_cookie_and_lets_in_everywhere(locked: Flask) -> None:
    client = locked.test_client()
    taken = client.get(f"/?key={KEY}", headers=HOST)
    assert (taken.status_code, taken.headers["Location"]) == (303, "/") and not header_faults(taken)
    name, *rules = taken.headers["Set-Cookie"].split("; ")
    assert name == f"teachest-{PORT}={KEY}"
    assert set(rules) == {"HttpOnly", "Path=/", "SameSite=Strict"}, (
        "no Domain: this host only; no Expires: this sitting"
    )
    for address in ADDRESSES:
        answer = client.get(address, headers=HOST)
        answer.close()
        assert answer.status_code in (200, 303, 308, 404), address
    assert client.post("/parts/new", data={"component": "unknown", "label": "x"}, headers=OWN).status_code == 303


@pytest.mark.parametrize("address", [
    "/", "/?key=", f"/?key={KEY[:-1]}", f"/?key={KEY}x", f"/?key={KEY.upper()}", "/?key=%FF%00", "/?key=é",
    f"/?Key={KEY}", f"/?key=x&key={KEY}", f"/photos/?key={KEY}", f"/static/teachest.css?key={KEY}",
])  # fmt: skip
def test_another_key_or_another_place_for_it_lets_nobody_in(locked: Flask, address: str) -> None:
    answer = locked.test_client().get(address, headers=HOST)
    assert answer.status_code == 403 and "Set-Cookie" not in answer.headers


def test_the_key_is_taken_from_no_form_and_no_foreign_name(locked: Flask) -> None:
    client = locked.test_client()
    assert client.post("/", data={"key": KEY}, headers=OWN).status_code == 403
    assert client.post(f"/?key={KEY}", headers=OWN).status_code == 403
    assert client.get(f"/?key={KEY}", headers={"Host": "evil.example"}).status_code == 421


@pytest.mark.parametrize(("cookie", "status"), [
    (f"teachest-{PORT}={KEY}", 200), (f"teachest-{PORT}=planted; teachest-{PORT}={KEY}", 200),
    (f"teachest-8751={KEY}", 403), (f"teachest={KEY}", 403), (f"teachest-{PORT}=", 403),
    (f"teachest-{PORT}={KEY}x", 403), (f"teachest-{PORT}=\xff\x01", 403),
])  # fmt: skip
def test_only_the_own_ports_cookie_counts_and_none_hides_it(locked: Flask, cookie: str, status: int) -> None:
    client = locked.test_client(use_cookies=False)
    assert client.get("/", headers={**HOST, "Cookie": cookie}).status_code == status


def test_a_script_is_told_in_words_too(locked: Flask) -> None:
    answer = locked.test_client().post("/photos/add", headers={**OWN, "Accept": "application/json"})
    assert answer.status_code == 403 and answer.get_json()["says"] == "Teachest does not know this browser."
    assert "printed" in answer.get_json()["next"]


def test_the_key_is_compared_in_constant_time(locked: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    """By the one comparison of the standard library that promises it; without that one nobody is let in."""
    monkeypatch.setattr(guard.hmac, "compare_digest", lambda one, other: False)
    client = locked.test_client(use_cookies=False)
    assert client.get(f"/?key={KEY}", headers=HOST).status_code == 403
    assert client.get("/", headers={**HOST, "Cookie": f"teachest-{PORT}={KEY}"}).status_code == 403


def test_a_key_has_128_bits_at_least_and_is_never_the_same() -> None:
    keys = {guard.new_key() for _ in range(1000)}
    assert len(keys) == 1000
    assert all(len(base64.urlsafe_b64decode(key + "=" * (-len(key) % 4))) * 8 >= 128 for key in keys)


def test_two_servers_of_one_machine_leave_each_other_alone(built: Path, tmp_path: Path) -> None:
    """One browser, one jar: the cookie of the second does not push out that of the first."""
    jar = http.cookiejar.CookieJar()
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(jar))
    doors = []
    for name in ("one", "two"):
        shutil.copytree(built, tmp_path / name)
        doors.append(door_hands.served(tmp_path / name))
        address = f"http://{doors[-1].host}/"
        with browser.open(f"{address}?key={doors[-1].key}") as page:
            assert (page.status, page.url) == (200, address)
    assert len(jar) == 2
    for door in doors:
        with browser.open(f"http://{door.host}/parts/") as page:
            assert page.status == 200
    assert doors[0].ask("GET", "/", Cookie=doors[1].cookie)[0] == 403


def test_serve_prints_the_address_with_its_key_on_a_line_of_its_own(built: Path, tmp_path: Path) -> None:
    shutil.copytree(built, tmp_path / "heap")
    command = [sys.executable, "-c", "from web.main import main; main()", "serve", str(tmp_path / "heap")]
    run = subprocess.Popen([*command, "--port", "0", "--no-browser"], stdout=subprocess.PIPE, text=True, cwd=TOP)
    with run:
        try:
            assert run.stdout
            line = run.stdout.readline()
            assert re.fullmatch(r"http://127\.0\.0\.1:[0-9]+/\?key=[A-Za-z0-9_-]{22,}\n", line), line
            with urllib.request.build_opener(urllib.request.HTTPCookieProcessor()).open(line.strip()) as page:
                assert b"Ferryman" in page.read()
        finally:
            run.kill()
