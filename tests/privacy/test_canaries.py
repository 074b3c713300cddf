"""Nothing that tells of home leaves with a report, and no report reads or asks for anything: rows 13 and 18.

Where a photo hides what it knows: CIPA DC-008 (Exif, its thumbnail, maker note and position), ISO 16684-1 (XMP),
IPTC-IIM (APP13), ITU-T T.81 (comment, trailer), ISO/IEC 18477-3 (APP11), ICC.1 (profile), CIPA DC-007 (MPF).
"""

from __future__ import annotations

import base64
import contextlib
import re
import shutil
import sqlite3
import struct
import zlib
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import photo_factory as make
import pytest
from all_papers import every_paper
from canaries import PAYLOADS, SECRET, layers
from flask import Flask
from PIL import PngImagePlugin
from pypdf import PdfReader
from web_visits import VISITS

import web
from survey.machine.verbs import add_number
from survey.model.photos import Photo
from survey.outwork.verbs import change_item, make_batch
from survey.parts.finding_verbs import add_finding, add_look
from survey.parts.verbs import add_part, set_own_grade
from survey.photos.verbs import change_photo, list_photos, take_in_photos
from survey.report.verbs import write_report
from survey.safekeeping.verbs import back_up, export_survey
from survey.schedule.verbs import add_component, get_component, set_position
from survey.shelf.verbs import make_survey, open_survey
from survey.store.tables import TABLES
from survey.wants.sheet_verbs import write_wants_sheet
from survey.wants.verbs import set_want

if TYPE_CHECKING:
    from playwright.sync_api import Browser

PLACES = (
    "gps", "maker", "comment", "description", "thumbnail", "xmp", "iptc", "segment", "app11", "icc", "mpf", "trailer",
    "pngtext", "pngxmp", "webpxmp", "webpexif", "tiffexif", "heifexif", "heifxmp",
)  # fmt: skip
LATITUDE = (51, 28, 40.0771)
IN_FIGURES = (b"51.4777", b"40.0771")
EXPORTS = ("report.pdf", "report.html", "report.csv", "report.json")


def canary(place: str) -> bytes:
    return f"CANARY-{place}-of-home".encode()


def block(place: str) -> bytes:
    """An Exif block with a position, a maker note, a comment, a description, and a thumbnail that has a comment."""
    made = make.exif(original="2026:06:06 19:02:10", make="Invented")
    made[0x010E] = canary("description" if place == "jpeg" else place).decode()
    made.get_ifd(make.EXIF_IFD).update({0x927C: canary("maker"), 0x9286: b"ASCII\0\0\0" + canary("comment")})
    east = (0.0, 0.0, 5.0)
    made.get_ifd(make.GPS_IFD).update({1: "N", 2: LATITUDE, 3: "E", 4: east, 0x1C: b"ASCII\0\0\0" + canary("gps")})
    whole = made.tobytes()
    return whole if place == "heifexif" else with_thumbnail(whole)


def with_thumbnail(whole: bytes) -> bytes:
    """The block with a second directory behind the first, which holds the thumbnail."""
    head, tiff = whole[:6], bytearray(whole[6:])
    order = "<" if tiff[:2] == b"II" else ">"
    (first,) = struct.unpack_from(order + "I", tiff, 4)
    (count,) = struct.unpack_from(order + "H", tiff, first)
    small = make.with_segment(make.picture(image=make.quarters(16, 16)), 0xFE, canary("thumbnail"))
    at = len(tiff)
    struct.pack_into(order + "I", tiff, first + 2 + 12 * count, at)
    rows = ((0x0103, 3, 1, 6 if order == "<" else 6 << 16), (0x0201, 4, 1, at + 42), (0x0202, 4, 1, len(small)))
    tiff += struct.pack(order + "H", 3) + b"".join(struct.pack(order + "HHII", *row) for row in rows) + bytes(4)
    return head + bytes(tiff) + small


def xmp(place: str) -> bytes:
    return b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>" + canary(place) + b"</x:xmpmeta>"


def phone_photo() -> bytes:
    """A JPEG with a canary in every place that one has."""
    image = make.textured(900, 700, seed=3)
    whole = make.picture("MPO", image, save_all=True, append_images=[make.quarters()], exif=block("jpeg"),
        icc_profile=make.wide_profile() + canary("icc"))  # fmt: skip
    second = whole.index(b"\xff\xd8\xff", len(whole) // 2)
    whole = whole[:second] + make.with_segment(whole[second:], 0xFE, canary("mpf"))
    caption = canary("iptc")
    record = b"\x1c\x02\x78" + struct.pack(">H", len(caption)) + caption
    iptc = b"Photoshop 3.0\x008BIM\x04\x04\0\0" + struct.pack(">I", len(record)) + record
    for marker, payload in ((0xFE, canary("segment")), (0xEB, b"JP\0\1" + canary("app11")), (0xED, iptc),
            (0xE1, b"http://ns.adobe.com/xap/1.0/\0" + xmp("xmp"))):  # fmt: skip
        whole = make.with_segment(whole, marker, payload)
    return whole + canary("trailer")


def photos(room: Path) -> list[Path]:
    """One photo of each kind, which together hold every canary."""
    text = PngImagePlugin.PngInfo()
    text.add_text("Comment", canary("pngtext").decode())
    text.add_itxt("XML:com.adobe.xmp", xmp("pngxmp").decode())
    made = {
        "a.jpg": phone_photo(),
        "b.png": make.picture("PNG", make.textured(300, 200, 4), pnginfo=text, exif=block("maker")),
        "c.webp": make.picture("WEBP", make.textured(300, 200, 5), exif=block("webpexif"), xmp=xmp("webpxmp")),
        "d.tif": make.picture("TIFF", make.textured(300, 200, 6), tiffinfo={0x010E: canary("tiffexif").decode()}),
        "e.heic": heic(),
    }
    for name, data in made.items():
        (room / name).write_bytes(data)
    return [room / name for name in made]


def heic() -> bytes:
    import io

    import pillow_heif

    pillow_heif.register_heif_opener(thumbnails=False)
    stream = io.BytesIO()
    make.textured(300, 200, 7).save(stream, "HEIF", exif=block("heifexif"), xmp=xmp("heifxmp"))
    return stream.getvalue()


def told(data: bytes) -> set[str]:
    """The places whose canary is in there, written in any way."""
    found = set()
    for layer in layers(data):
        for place in PLACES:
            word = canary(place)
            wide = word.decode().encode("utf-16-le"), word.decode().encode("utf-16-be")
            if any(one in layer for one in (word, *wide, word.hex().encode(), word.hex().upper().encode())):
                found.add(place)
        found |= {f"position {figures.decode()}" for figures in IN_FIGURES if figures in layer}
    return found


@pytest.fixture(scope="module")
def heap(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A survey of those photos, all of them on parts and with findings, so that every paper shows them."""
    room = tmp_path_factory.mktemp("canaries")
    with make_survey(room / "heap", "lightweight", "Ferryman in boxes") as survey:
        result = take_in_photos(survey, photos(room))
        assert len(result.added) == 5, result
        for number, photo in enumerate(list_photos(survey)):
            part = add_part(survey, ("B052", "B076", "B067", "B110", "B144")[number], photos=[photo.id])
            add_finding(survey, part.id, "crack", 3, seen="bare", photo=photo.id, points=[(0.4, 0.5)])
        set_position(survey, "B055", "missing")
        make_batch(survey, "plate", [1, 2])
        change_item(survey, 1, photos=(1, 2))
        set_want(survey, "B052", note="the straighter one")
    return room / "heap"


def test_the_photos_hold_every_canary(heap: Path) -> None:
    """Else their absence elsewhere would say nothing."""
    held = set[str]()
    for original in (heap / "originals").rglob("*.*"):
        held |= told(original.read_bytes())
    assert held >= set(PLACES)
    assert any(photo.has_position for photo in opened_photos(heap))


def opened_photos(heap: Path) -> list[Photo]:
    with open_survey(heap) as survey:
        return list_photos(survey)


def test_a_canary_in_a_stream_or_a_picture_of_a_page_would_be_noticed() -> None:
    packed = b"<< /Length 1 >>\nstream\n" + zlib.compress(b"(" + canary("gps") + b")") + b"\nendstream"
    assert told(packed) == {"gps"}
    assert told(b'<img src="data:image/jpeg;base64,' + base64.b64encode(b"\xff\xd8" + canary("xmp")) + b'">') == {"xmp"}
    assert told("CANARY-icc-of-home".encode("utf-16-be")) == {"icc"} and told(b"[51.4777, 0.0014]") != set()


def test_no_paper_tells_of_home(heap: Path, tmp_path: Path) -> None:
    with open_survey(heap) as survey:
        made = every_paper(survey, tmp_path / "papers")
        photos = [path for path in made if path.parent.name == "photos"]
        whole = export_survey(survey, tmp_path / "with originals", originals=True).folder
        backup = back_up(survey, tmp_path / "backup.zip").path
    assert {one.name: told(one.read_bytes()) for one in made} == {one.name: set() for one in made}
    page = (tmp_path / "papers" / "report bench.html").read_text("utf-8")
    assert page.count("base64,") >= 5 and len(photos) == 5, "the photos are in there"
    asked = {
        *told(backup.read_bytes()),
        *(mark for path in (whole / "photos").iterdir() for mark in told(path.read_bytes())),
    }
    assert asked >= set(PLACES), "what holds the originals holds them whole, as is said of it"


def test_no_page_and_no_derived_picture_tells_of_home(heap: Path) -> None:
    app = web.create_app(heap)
    try:
        leaking = {address: marks for address in addresses(app) if (marks := told(fetched(app, address)))}
    finally:
        app.extensions["survey"].close()
    assert leaking == {}
    derived = [path for path in (heap / "pictures").rglob("*") if path.is_file()]
    assert len(derived) >= 10 and {path.name for path in derived if told(path.read_bytes())} == set()


def addresses(app: Flask) -> list[str]:
    """Every page, and every picture but the original, which is the photo as it was taken in."""
    pictures = [f"/pictures/{n}/{what}" for n in range(1, 6) for what in ("thumb", "view", "crop?box=0,0,1,1&wide=600")]
    pages = [one for rule, visits in VISITS.items() if not rule.endswith("/original") for one in visits]
    return [*pages, *pictures, "/photos/4", "/photos/5", "/parts/5"]


def fetched(app: Flask, address: str) -> bytes:
    answer = app.test_client().get(address)
    data = answer.get_data()
    answer.close()
    assert answer.status_code < 500, address
    return data


# What people wrote, in papers for others.

PEOPLE = ("note", "who", "contact", "by", "bought", "surveyor", "receipt", "out_by", "in_by", "anyway", "source", "box",
    "reason", "holds")  # fmt: skip
PRICES = ("low", "likely", "high", "spent", "paid", "insured")
"""Columns of any table that a friend's copy keeps to itself: notes, people, places, prices."""


TO_THE_TRADES = {"machine.surveyor", "batch.who", "batch.note", "batch.out_by", "batch.in_by", "batch_item.note"}
"""What the dockets of all trades, bound together, may say of those."""


def codes() -> dict[str, str]:
    """For each of those columns a word, or a price, that stands nowhere else."""
    made = {}
    for number, (table, declared) in enumerate(TABLES.items()):
        if table not in ("event", "component"):
            for place, one in enumerate((*PEOPLE, *PRICES)):
                if one in declared.columns:
                    word, price = f"zq{number:02}{place:02}xv", f"7{number:02}{place % 10}.31"
                    made[f"{table}.{one}"] = price if one in PRICES else word
    return made


def words_of(paper: Path) -> str:
    """What a paper says to a reader or to a program."""
    data = paper.read_bytes()
    if paper.suffix == ".pdf":
        pages = PdfReader(paper)
        return " ".join(page.extract_text() for page in pages.pages) + str(pages.metadata) + str(pages.xmp_metadata)
    return data.decode("utf-8", "replace")


def test_a_friends_copy_tells_of_nobody_and_no_paper_of_folders(full: Path, tmp_path: Path) -> None:
    """Every note, name, place and price of every table is a word of its own; those are looked for."""
    shutil.copytree(full, tmp_path / "heap")
    marked = codes()
    assert len(marked) > 60
    with contextlib.closing(sqlite3.connect(tmp_path / "heap" / "survey.db", isolation_level=None)) as other:
        for where, said in marked.items():
            table, column = where.split(".")
            other.execute(f'UPDATE "{table}" SET "{column}" = ?', [said])
    with open_survey(tmp_path / "heap") as survey:
        papers = {paper.name: words_of(paper) for paper in every_paper(survey, tmp_path / "papers")}
    for name, words in papers.items():
        found = {where for where, said in marked.items() if said in words or said.replace("7", "7,", 1) in words}
        if "friend" in name:
            assert found == set(), name
        if "outworker" in name:
            assert found <= TO_THE_TRADES, name
        if name.startswith(("report", "wants", "docket", "money")):
            assert not found & {"photo.source"}, name
    for whole in (papers["report bench.html"], papers["report bench.pdf"]):
        assert sum(said in whole for said in marked.values()) > 15, "they are there to be found"


# Row 18.


def poisoned(room: Path) -> Path:
    """A survey with every payload in every field that takes words."""
    every = " ".join(PAYLOADS)
    with make_survey(room / "heap", "lightweight", "Ferryman") as survey:
        (room / "heap" / "secret.txt").write_text(SECRET)
        named = room / (re.sub(r"[/\0]", "_", PAYLOADS[0]) + ".jpg")
        named.write_bytes(make.picture())
        take_in_photos(survey, [named])
        own = replace(get_component(survey, "B110"), id="OWN1", label=every[:200], assembly=PAYLOADS[1][:60],
            names=(PAYLOADS[0],), finish=PAYLOADS[6], faults=(PAYLOADS[5],),
            sizes=(PAYLOADS[2],), inside=None, own=True)  # fmt: skip
        add_component(survey, own)
        part = add_part(survey, "OWN1", label=every[:200], photos=[1], box=PAYLOADS[1], note=every)
        change_photo(survey, 1, note=every, box=PAYLOADS[1])
        add_finding(survey, part.id, "bent", 3, seen="bare", note=every, photo=1, points=[(0.5, 0.5)])
        add_look(survey, add_part(survey, "B052").id, seen="bare", note=every)
        set_own_grade(survey, part.id, "repair", every)
        set_position(survey, "B159", "missing", every)
        add_number(survey, PAYLOADS[2], PAYLOADS[4], every)
        set_want(survey, "B159", who=PAYLOADS[0], also=every, note=every)
        for payload in PAYLOADS:
            add_part(survey, None, label=payload)
    return room / "heap"


def test_no_paper_reads_a_file_or_does_a_thing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = poisoned(tmp_path)
    (tmp_path / "secret.txt").write_text(SECRET)
    monkeypatch.chdir(tmp_path)
    with open_survey(folder) as survey:
        made = [write_report(survey, tmp_path / name) for name in EXPORTS]
        made.append(write_wants_sheet(survey, tmp_path / "wants.pdf", "pocket"))
    for one in made:
        for layer in layers(one.read_bytes()):
            assert SECRET.encode() not in layer and b"root:x:" not in layer, one.name
            if one.suffix == ".pdf":
                assert not re.search(rb"/(URI|JavaScript|JS|Launch|EmbeddedFile|SubmitForm|GoToR|OpenAction)\b", layer)


@pytest.mark.browser
def test_the_shared_page_asks_for_nothing(browser: Browser, tmp_path: Path) -> None:
    with open_survey(poisoned(tmp_path)) as survey:
        page = write_report(survey, tmp_path / "report.html")
    assert asked_for(browser, page) == []


@pytest.mark.browser
def test_a_page_that_asks_would_be_noticed(browser: Browser, tmp_path: Path) -> None:
    page = tmp_path / "careless.html"
    page.write_text(f"<p>{PAYLOADS[1]}{PAYLOADS[2]}")
    assert asked_for(browser, page)


def asked_for(browser: Browser, page: Path) -> list[str]:
    """Open a file without a network; what it asked for beyond itself and what it carries, and any other fault."""
    context = browser.new_context(offline=True)
    shown, asked = context.new_page(), list[str]()
    shown.on("request", lambda one: asked.append(one.url) if not one.url.startswith("data:") else None)
    shown.on("pageerror", lambda fault: asked.append(f"script: {fault}"))
    shown.on("dialog", lambda dialog: asked.append(f"dialog: {dialog.message}"))
    shown.goto(page.as_uri(), wait_until="networkidle")
    context.close()
    return [one for one in asked if one != page.as_uri()]
