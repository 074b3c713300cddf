"""The browser door under bad weather: no value of any address or field breaks a page, and reading changes nothing."""

from __future__ import annotations

import hashlib
import logging
import re
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from urllib.parse import quote, quote_plus

import pytest
from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from web_client import ORIGIN, CheckedClient
from web_survey import RIM
from web_visits import ASKS, LEADS_ON, SENDS, SOUND, VISITS

import web
from survey.history.verbs import list_events
from survey.parts.finding_verbs import list_reading_kinds
from survey.parts.verbs import list_parts
from survey.photos.verbs import list_photos
from survey.schedule.verbs import add_component, get_component

NUMBERS = ("0", "-1", "99", "007", "1.0", "1e3", "0x1", "٣", "½", "９", "9" * 12, "9" * 13, "9" * 20, "9" * 5000)
PLACES = ("nan,nan", "inf,0", "0.5", ",", ";;;", "1e999,0", "2,2", "-1,0", "0.1,0.1;" * 200, "0,0;1,1")
SIZES = ("1e999 mm", "9" * 400 + " mm", "1/0 in", "-5 mm", "nan mm", "inf", "5 parsec", "0." + "0" * 400 + "1 mm")
DAYS = ("2026-02-30", "0000-00-00", "9999-12-31", "10000-01-01", "2026-1-1", "today", "2026-W01-1", "20260101")
TEXTS = (
    "", "a\x00b", "\ud800", "\r\nSet-Cookie: a=b", "\u202egpj.exe\x1b[2J", "x" * 100_000, "é" * 3999,
    "../../etc/passwd", "'; DROP TABLE part;--", '{{7*7}}%s%00#eval(read("a"))', "None", "unknown", "B052", "bare",
)  # fmt: skip
NASTY = (*NUMBERS, *PLACES, *SIZES, *DAYS, *TEXTS)
PATHS = ("0", "9" * 12, "9" * 13, "9" * 5000, "-1", "1.0", "%00", "%ED%A0%80", "%D9%A3", "%0d%0aA:b", "%2e%2e", "a%2fb")

COUNTED = frozenset(
    {"part", "photo", "quantity", "step", "inside", "page", "run", "w", "pick.x", "pick.y", "across", "down", "wide"}
)


def nasty(name: str) -> tuple[str, ...]:
    """What is tried in a field of that name: what its own reader might stumble over, and words."""
    if name in COUNTED:
        return (*NUMBERS, *TEXTS[:6])
    if name in ("since", "until"):
        return (*DAYS, *TEXTS[:6])
    return {"at": (*PLACES, *TEXTS[:6]), "box": (*PLACES, *TEXTS), "written": (*SIZES, *TEXTS[:6])}.get(name, TEXTS)


@pytest.fixture(autouse=True)
def _nothing_breaks(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """A view that fails is answered with 500 and logged; neither may happen here."""
    with caplog.at_level(logging.ERROR, "teachest.web"):
        yield
    broken = [record.getMessage() for record in caplog.get_records("call") if record.name == "teachest.web"]
    assert not broken


@pytest.fixture(scope="module")
def one_app(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    """One door for all the tests that send nothing a survey would take."""
    made = web.create_app(Path(shutil.copytree(built, tmp_path_factory.mktemp("nasty") / "heap")))
    yield made
    made.extensions["survey"].close()


def written(fields: Mapping[str, str]) -> str:
    """Fields as a browser would write them, and as none would: halves of surrogate pairs go as they are."""
    return "&".join(f"{name}={quote_plus(value, errors='surrogatepass')}" for name, value in fields.items())


def send(app: Flask, address: str, fields: Mapping[str, str]) -> int:
    answer = app.test_client().post(
        address, data=written(fields), headers={"Origin": ORIGIN}, content_type="application/x-www-form-urlencoded"
    )
    assert answer.status_code in (303, 400, 404, 409, 413), f"{address} {written(fields)[:200]}: {answer.status_code}"
    return answer.status_code


def ask(app: Flask, address: str) -> None:
    answer = app.test_client().get(address)
    assert answer.status_code in (200, 303, 308, 400, 404, 405, 409), f"{address[:200]}: {answer.status_code}"
    answer.close()


def pages_stand(app: Flask) -> None:
    """Every page can still be had and is sound, whatever was written into the survey."""
    client = CheckedClient(app)
    survey = app.extensions["survey"]
    shown = [f"/parts/{one.part.id}" for one in list_parts(survey)] + ["/photos/1", "/photos/3"]
    for address in ("/", "/photos/", "/parts/", "/gaps/", "/gaps/?show=all", "/machine", "/report/page", *shown):
        client.get(address)


def test_every_form_is_listed(one_app: Flask) -> None:
    taking = {rule.rule for rule in one_app.url_map.iter_rules() if "POST" in (rule.methods or ())}
    assert taking == set(SENDS)


@pytest.mark.parametrize("rule", [rule for rule in VISITS if not rule.startswith(("/report/", "/static/"))])
def test_nothing_asked_for_breaks_a_page(one_app: Flask, rule: str) -> None:
    path = VISITS[rule][0].partition("?")[0]
    sound = {name: SOUND[name] for name in ASKS.get(rule, ()) if name in SOUND and name not in ("show", "box")}
    for name in (*ASKS.get(rule, ()), "said"):
        for value in nasty(name):
            ask(one_app, f"{path}?{written({**sound, name: value})}")
        ask(one_app, f"{path}?{name}=&{name}=%FF&{name}=%00")


@pytest.mark.parametrize("rule", [rule for rule in (*VISITS, *LEADS_ON, *SENDS) if "<" in rule])
def test_no_number_in_an_address_breaks_a_page(app: Flask, rule: str) -> None:
    for part in PATHS:
        address = "/".join(part if piece.startswith("<") else piece for piece in rule.split("/"))
        ask(app, address)
        if rule in SENDS:
            answer = app.test_client().post(address, headers={"Origin": ORIGIN})
            assert answer.status_code < 500, address


@pytest.mark.slow
@pytest.mark.parametrize("rule", SENDS)
def test_nothing_sent_breaks_a_form(app: Flask, rule: str) -> None:
    if rule.endswith("/remove"):
        return  # its only fields are the numbers in its address
    number = str(RIM) if "readings" in rule else "1"  # a rim is measured
    address = "/".join(number if piece.startswith("<") else piece for piece in rule.split("/"))
    sound = {name: SOUND.get(name, "x") for name in SENDS[rule]}
    for name in sound:
        send(app, address, {other: value for other, value in sound.items() if other != name})
        for value in nasty(name):
            send(app, address, {**sound, name: value})
    pages_stand(app)


@pytest.mark.parametrize(
    "kind", ["application/json", "multipart/form-data", "multipart/form-data; boundary=", "text/plain", ""]
)
def test_a_body_of_another_kind_is_refused_in_words(app: Flask, kind: str) -> None:
    for rule in SENDS:
        address = "/".join("1" if piece.startswith("<") else piece for piece in rule.split("/"))
        body = b'{"component": "B052"}\xff\x00'
        answer = app.test_client().post(address, data=body, headers={"Origin": ORIGIN}, content_type=kind)
        assert answer.status_code in (303, 400, 404, 409), (address, answer.status_code)


RULES = st.sampled_from(sorted(rule for rule in SENDS if not rule.endswith("/remove") and rule != "/photos/add"))
VALUES = st.one_of(st.sampled_from(NASTY), st.text(max_size=60), st.integers().map(str), st.floats().map(str))


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(RULES, st.data())
def test_no_mixture_sent_breaks_a_form(app: Flask, rule: str, data: st.DataObject) -> None:
    fields = {name: data.draw(st.one_of(st.just(SOUND.get(name, "x")), VALUES), label=name) for name in SENDS[rule]}
    number = data.draw(st.sampled_from(("1", "2", "3", "4")))
    send(app, "/".join(number if piece.startswith("<") else piece for piece in rule.split("/")), fields)


def fingerprint(app: Flask) -> tuple[str, int, set[str]]:
    """The survey as it lies on disk: its database, its history, its originals."""
    survey = app.extensions["survey"]
    originals = {str(path) for path in (survey.folder / "originals").rglob("*")}
    whole = hashlib.sha256((survey.folder / "survey.db").read_bytes()).hexdigest()
    return whole, len(list_events(survey)), originals


def test_reading_changes_nothing(app: Flask) -> None:
    before = fingerprint(app)
    client = app.test_client()
    examples = [address for visits in VISITS.values() for address in visits]
    for method in ("GET", "HEAD", "OPTIONS"):
        for address in examples:
            client.open(address, method=method).close()
        for rule, names in SENDS.items():
            address = "/".join("1" if piece.startswith("<") else piece for piece in rule.split("/"))
            query = written({name: SOUND.get(name, "x") for name in names})
            client.open(f"{address}?{query}", method=method).close()
    assert fingerprint(app) == before


EVIL = "evil.example"
FOREIGN: tuple[dict[str, str], ...] = (
    {}, {"Origin": f"http://{EVIL}"}, {"Origin": "null"}, {"Sec-Fetch-Site": "cross-site"}, {"Referer": f"{ORIGIN}/"},
    {"Sec-Fetch-Site": "same-site"}, {"Sec-Fetch-Site": "none"}, {"Origin": ORIGIN, "Sec-Fetch-Site": "cross-site"},
    {"Origin": ORIGIN, "Host": EVIL}, {"Origin": f"http://{EVIL}", "Host": EVIL}, {"Origin": f"{ORIGIN}.{EVIL}"},
)  # fmt: skip


@pytest.mark.parametrize("rule", SENDS)
def test_no_form_takes_what_another_site_sends(one_app: Flask, rule: str) -> None:
    before = fingerprint(one_app)
    address = "/".join("1" if piece.startswith("<") else piece for piece in rule.split("/"))
    for headers in FOREIGN:
        answer = one_app.test_client().post(address, data={n: SOUND.get(n, "x") for n in SENDS[rule]}, headers=headers)
        assert answer.status_code in (403, 421), headers
    assert fingerprint(one_app) == before


PAYLOAD = "<script>alert(1)</script>\"'"


def test_a_script_in_every_field_stays_words_on_every_page(app: Flask, tmp_path: Path) -> None:
    """Written through the forms themselves, as a person could; asserted on every page there is."""
    from PIL import Image

    client = CheckedClient(app)
    picture = BytesIO()
    Image.new("RGB", (40, 30), "olive").save(picture, "PNG")
    name = PAYLOAD.replace("/", "") + ".png"
    loaded = client.post(
        "/photos/add", {"photos": [(BytesIO(picture.getvalue()), name)]}, 200, content_type="multipart/form-data"
    )
    assert_words_only(loaded.html)
    survey = app.extensions["survey"]
    own = get_component(survey, "B110")
    add_component(
        survey,
        replace(own, id="OWN1", label=PAYLOAD, assembly=PAYLOAD, names=(PAYLOAD,), finish=PAYLOAD, faults=(PAYLOAD,),
                sizes=(PAYLOAD,), inside=None, own=True),
    )  # fmt: skip
    text = {"label": PAYLOAD, "box": PAYLOAD, "note": PAYLOAD, "quantity": "1"}
    client.send("/parts/new", {**text, "component": "OWN1", "photo": "4"})
    part = list_parts(survey)[-1].part.id
    client.send("/photos/4/note", {"note": PAYLOAD, "box": PAYLOAD})
    finding = {
        "kind": "bent",
        "step": "3",
        "seen": "bare",
        "note": PAYLOAD,
        "photo": "4",
        "shape": "pin",
        "at": "0.5,0.5",
    }
    client.send(f"/parts/{part}/findings", finding)
    client.send(f"/parts/{part}/looks", {"seen": "bare", "note": PAYLOAD})
    client.send(f"/parts/{part}/grade", {"grade": "repair", "reason": PAYLOAD})
    reading = list_reading_kinds(survey, 3)[0].id
    client.send("/parts/3/readings", {"name": reading, "written": "1 mm", "tool": PAYLOAD})
    client.send("/gaps/answer", {"component": "B159", "state": "missing", "note": PAYLOAD})
    client.send("/machine/numbers", {"place": PAYLOAD, "text": PAYLOAD, "note": PAYLOAD})
    client.send("/machine", dict.fromkeys(SENDS["/machine"], PAYLOAD))
    found = 0
    query = quote(PAYLOAD)
    for rule, examples in VISITS.items():
        if not rule.startswith(("/pictures/", "/static/", "/report/take/", "/report/style")):
            for example in (*examples, *(one.replace("/1", "/4", 1) for one in examples if "/photos/1" in one)):
                found += assert_words_only(client.get(example).html)
    for example in (
        f"/parts/{part}", f"/parts/{part}/find?photo=4", f"/parts/{part}/look?photo=4", f"/parts/?q={query}",
        f"/photos/4?what={query}", f"/parts/new?what={query}", f"/photos/4/mark?part={part}",
    ):  # fmt: skip
        found += assert_words_only(client.get(example).html)
    assert found > 40, "the words did reach the pages"
    for address, status in (
        (f"/parts/1/find?kind={query}", 404), (f"/parts/?grade={query}", 400), (f"/rules/row/{query}", 404),
        (f"/photos/?page={query}", 400), (f"/rules/tables/{query}", 404),
    ):  # fmt: skip
        assert_words_only(client.get(address, status).html)
    whole = client.get("/report/take/html").response.get_data(as_text=True)
    assert assert_words_only(whole)


def assert_words_only(html: str) -> int:
    """No page holds the payload as anything but words; how often it holds those."""
    lower = html.lower()
    assert re.sub(r'<script src="/static/[^"<>]+"[^<>]*></script>', "", lower).count("<script") == 0
    assert "alert(1)</script" not in lower
    assert 'alert(1)&lt;/script&gt;"' not in html, "a quotation mark that could end an attribute"
    return html.count("&lt;script&gt;alert(1)")


FILE_NAMES = (
    b"x" * 5000 + b".jpg", "é".encode() * 300 + b".jpg", b"\xff\xfe.jpg", b"\xed\xa0\x80.jpg", b"a\x00b.jpg", b"..",
    b".", b"/", b"CON", b"nul.jpg", b"a\\b\\..\\c.jpg", b"<script>.png", b"%00.jpg", b"\xe2\x80\xaegpj.exe", b" ",
    b"-rf.jpg", b"~.jpg",
)  # fmt: skip


@pytest.mark.parametrize("name", FILE_NAMES)
def test_no_file_name_breaks_an_upload(app: Flask, name: bytes) -> None:
    from PIL import Image

    picture = BytesIO()
    Image.new("RGB", (20, 20), "plum").save(picture, "PNG")
    head = b'--x\r\nContent-Disposition: form-data; name="photos"; filename="' + name + b'"\r\n\r\n'
    for content in (picture.getvalue(), b"", b"PK\x03\x04", b"\xff\xd8\xff" + b"\x00" * 100):
        answer = app.test_client().post(
            "/photos/add",
            data=head + content + b"\r\n--x--\r\n",
            headers={"Origin": ORIGIN},
            content_type="multipart/form-data; boundary=x",
        )
        assert answer.status_code in (200, 400), (name[:40], answer.status_code)
    for one in list_photos(app.extensions["survey"]):
        ask(app, f"/photos/{one.id}")
        ask(app, f"/pictures/{one.id}/original")


@pytest.mark.parametrize("state", ["here", "missing", "wrong", "unseen", "not-fitted", "not-looked", ""])
def test_a_position_that_is_not_on_the_schedule_cannot_be_answered(app: Flask, state: str) -> None:
    for position in ("NONE", "9" * 3000, "B052 ", "\u202e"):
        for more in ({}, {"HX-Request": "true"}):
            answer = app.test_client().post(
                "/gaps/answer", data={"component": position, "state": state}, headers={"Origin": ORIGIN, **more}
            )
            assert answer.status_code < 500, (position[:20], state)
