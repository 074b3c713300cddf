"""Sending photos in a real browser: each by itself, through faults, pauses, and pages that are left."""

from __future__ import annotations

import io
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import photo_factory
import pytest
from browser_door import DESK, PHONE, Watched, announced, let_in, serve
from browser_hands import with_script
from flask import Flask
from web_client import ORIGIN, CheckedClient

import web
from survey.photos.verbs import list_photos
from survey.shelf.verbs import make_survey, open_survey

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, Route

SENDS = "**/photos/add"


def photographs(room: Path, count: int) -> list[Path]:
    """That many photos, no two alike."""
    room.mkdir(exist_ok=True)
    made = [room / f"shelf{number:02}.jpg" for number in range(count)]
    for number, path in enumerate(made):
        photo_factory.textured(320, 240, seed=number).save(path, quality=80)
    return made


class Sender:
    """The page that sends, and what the survey has got."""

    def __init__(self, folder: Path, watched: Watched) -> None:
        self.folder, self.watched, self.page = folder, watched, watched.page

    def open(self) -> None:
        self.page.goto(f"{self.watched.home}photos/add")
        with_script(self.page, "uploads.js", "upload-queue")

    def choose(self, files: list[Path]) -> None:
        self.page.get_by_label("Photos, or a zip file of them").set_input_files(files)

    def says(self, words: str) -> None:
        self.page.locator("upload-queue [role=status]", has_text=words).wait_for()

    def pile(self, title: str) -> list[str]:
        """The lines under that heading."""
        section = self.page.locator("upload-queue section section").filter(
            has=self.page.get_by_role("heading", name=title)
        )
        return [" ".join(line.split()) for line in section.locator("li").all_inner_texts()]

    def names(self) -> list[str]:
        with open_survey(self.folder) as survey:
            return sorted(photo.name for photo in list_photos(survey))

    def key(self) -> str:
        return str(self.page.locator("upload-queue").get_attribute("data-survey"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    make_survey(tmp_path / "heap", "lightweight", "Ferryman in boxes", by="Wren").close()
    return tmp_path / "heap"


@pytest.fixture
def open_sender(browser: Browser, folder: Path) -> Iterator[Callable[..., Sender]]:
    contexts = []

    def opened(size: dict[str, int] = DESK, home: str = "") -> Sender:
        contexts.append(browser.new_context(viewport=size, has_touch=size is PHONE))  # type: ignore[arg-type]
        address = home or serve(folder)
        watched = Watched(let_in(contexts[-1], address).new_page(), address)
        watched.watch()
        return Sender(folder, watched)

    yield opened
    for context in contexts:
        context.close()


@pytest.mark.browser
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_twelve_files_end_each_in_its_own_way(
    open_sender: Callable[..., Sender], tmp_path: Path, size: dict[str, int]
) -> None:
    import pillow_heif

    files = photographs(tmp_path / "phone", 9)
    pillow_heif.register_heif_opener()
    files.append(tmp_path / "shed.heic")
    photo_factory.textured(400, 300, seed=50).save(files[-1], format="HEIF")
    files.append(tmp_path / "list.txt")
    files[-1].write_text("two spindles, one jam jar")
    files.append(tmp_path / "again.jpg")
    files[-1].write_bytes(files[3].read_bytes())
    sender = open_sender(size)
    sender.open()
    sender.choose(files)
    sender.says("All sent: 12 files.")
    sender.watched.fits()
    assert sender.page.locator("upload-queue .count").inner_text() == "12 of 12"
    assert sender.pile("Refused") == [
        "list.txt This is not a picture; its content is something else, whatever its name says."
    ]
    assert sender.pile("Already here") == ["again.jpg"]
    assert len(sender.pile("Taken in")) == 10 and "shed.heic" in sender.pile("Taken in")
    assert sender.names() == sorted(path.name for path in files[:10])
    sender.page.get_by_role("link", name="shed.heic").click()
    assert sender.page.get_by_text("HEIF").or_(sender.page.get_by_text("HEIC")).first.is_visible()
    assert not sender.watched.faults, sender.watched.faults


@pytest.mark.browser
def test_a_page_that_is_left_midway_loses_nothing_and_sends_nothing_twice(
    open_sender: Callable[..., Sender], tmp_path: Path
) -> None:
    files = photographs(tmp_path / "phone", 12)
    sender = open_sender()
    sender.open()
    acknowledged: list[str] = []
    held: list[Route] = []
    again: list[str] = []
    left = False

    def slowly(route: Route) -> None:
        if route.request.method != "POST" or len(acknowledged) < 4 or left:
            acknowledged.append(named(route)) if route.request.method == "POST" else None
            route.continue_()
        else:
            held.append(route)

    sender.page.route(SENDS, slowly)
    sender.choose(files)
    sender.page.locator("upload-queue .count", has_text="4 of 12").wait_for()
    # The fifth is under way and never answered; the page is left, and the rest goes on from another.
    sender.page.wait_for_timeout(300)
    assert len(held) == 1
    # Both before the page is left: the next one sends as soon as it is there.
    left = True
    sender.page.on("request", lambda asked: again.append(asked.url) if asked.method == "POST" else None)
    sender.page.goto(f"{sender.watched.home}parts/")
    line = sender.page.locator("upload-status a")
    line.get_by_text("12 of 12 photos sent").wait_for()
    assert len(again) == 8, "something acknowledged was sent twice, or something was lost"
    assert sender.names() == [path.name for path in files]
    line.click()
    sender.page.wait_for_url("**/photos/add")
    sender.says("All sent: 12 files.")
    assert not line.is_visible(), "the queue tells it already"
    sender.page.goto(f"{sender.watched.home}parts/")
    with_script(sender.page, "uploads.js", "upload-status")
    sender.page.wait_for_timeout(300)
    assert not line.is_visible(), "what ended long ago is still told"
    assert not sender.watched.faults, sender.watched.faults


def named(route: Route) -> str:
    """The name of the file that is being sent."""
    sent = (route.request.post_data_buffer or b"").split(b'filename="', 1)[-1]
    return sent.split(b'"', 1)[0].decode()


@pytest.mark.browser
def test_what_the_server_stumbled_over_is_tried_again(open_sender: Callable[..., Sender], tmp_path: Path) -> None:
    files = photographs(tmp_path / "phone", 3)
    sender = open_sender()
    sender.open()
    stumbled: list[str] = []

    def once(route: Route) -> None:
        if route.request.method == "POST" and not stumbled:
            stumbled.append(named(route))
            route.fulfill(status=500, json={"says": "Something in Teachest itself went wrong.", "next": "Try again."})
        else:
            route.continue_()

    sender.page.route(SENDS, once)
    sender.choose(files)
    sender.says("1 file could not be sent.")
    assert sender.pile("Not sent") == [f"{stumbled[0]} Something in Teachest itself went wrong. Try again."]
    assert len(sender.names()) == 2
    sender.page.get_by_role("button", name="Try again").click()
    sender.says("All sent: 3 files.")
    assert sender.names() == [path.name for path in files]


@pytest.mark.browser
@pytest.mark.slow
def test_sending_goes_on_when_the_server_was_started_anew(
    open_sender: Callable[..., Sender], folder: Path, tmp_path: Path
) -> None:
    files = photographs(tmp_path / "phone", 4)
    first = Served(folder, 0)
    sender = open_sender(home=first.home)
    sender.open()
    first.end()
    sender.choose(files)
    sender.says("Teachest does not answer. Sending goes on as soon as it does.")
    second = Served(folder, first.port)
    sender.says("Teachest was started anew. Open the address that it printed; sending goes on by itself.")
    let_in(sender.page.context, second.home)
    sender.says("All sent: 4 files.")
    assert sender.names() == [path.name for path in files]
    second.end()


class Served:
    """A server that can be ended."""

    def __init__(self, folder: Path, port: int) -> None:
        run = (
            "import sys, pathlib, web;"
            "web.serve(pathlib.Path(sys.argv[1]), int(sys.argv[2]), False, lambda said: print(said, flush=True))"
        )
        top = Path(web.__file__).parent.parent
        self.process = subprocess.Popen(
            [sys.executable, "-c", run, str(folder), str(port)], stdout=subprocess.PIPE, text=True, cwd=top
        )
        assert self.process.stdout is not None
        self.home = announced(self.process.stdout.readline().strip())
        self.port = int(self.home.rstrip("/").rpartition(":")[2])

    def end(self) -> None:
        self.process.kill()
        self.process.communicate()


@pytest.mark.browser
def test_a_pause_lasts_until_it_is_ended(open_sender: Callable[..., Sender], tmp_path: Path) -> None:
    sender = open_sender()
    sender.open()
    held: list[Route] = []
    sender.page.route(SENDS, lambda route: held.append(route) if route.request.method == "POST" else route.continue_())
    sender.choose(photographs(tmp_path / "phone", 3))
    sender.page.get_by_role("button", name="Pause").click()
    sender.page.wait_for_timeout(200)
    (first,) = held
    first.continue_()
    sender.says("Paused. 2 files still to be sent.")
    sender.page.unroute(SENDS)
    sender.open()
    sender.says("Paused. 2 files still to be sent.")
    assert len(sender.names()) == 1
    sender.page.get_by_role("button", name="Go on").click()
    sender.says("All sent: 3 files.")
    assert len(sender.names()) == 3


@pytest.mark.browser
def test_two_pages_share_the_work_and_the_news(open_sender: Callable[..., Sender], tmp_path: Path) -> None:
    sender = open_sender()
    sender.open()
    other = Sender(sender.folder, Watched(sender.page.context.new_page(), sender.watched.home))
    sent: list[str] = []
    for page in (sender.page, other.page):
        page.on("request", lambda asked: sent.append(asked.url) if asked.method == "POST" else None)
    other.open()
    sender.choose(photographs(tmp_path / "phone", 6))
    other.says("All sent: 6 files.")
    sender.says("All sent: 6 files.")
    assert len(sent) == 6 and len(sender.names()) == 6


@pytest.mark.browser
def test_files_are_dropped_and_chosen_twice_and_too_large(open_sender: Callable[..., Sender], tmp_path: Path) -> None:
    sender = open_sender()
    sender.open()
    sender.page.evaluate("document.querySelector('upload-queue').dataset.most = '60000'")
    sender.page.route(SENDS, lambda route: route.abort() if route.request.method == "POST" else route.continue_())
    photo = photographs(tmp_path / "phone", 1)[0]
    drop(sender.page, {photo.name: photo.read_bytes(), ".hidden": b"x", "huge.jpg": b"x" * 70_000})
    sender.says("Teachest does not answer.")
    drop(sender.page, {photo.name: photo.read_bytes()})
    sender.page.unroute(SENDS)
    sender.says("All sent: 2 files.")
    assert sender.names() == [photo.name]
    (refused,) = sender.pile("Refused")
    assert refused.startswith("huge.jpg It is larger than one sending may hold.")


def drop(page: Page, files: dict[str, bytes]) -> None:
    """Drop files on the page, all written at the same time."""
    page.evaluate(
        """files => {
          const data = new DataTransfer();
          for (const [name, bytes] of Object.entries(files)) {
            data.items.add(new File([new Uint8Array(bytes)], name, { lastModified: 1_780_000_000_000 }));
          }
          document.querySelector('main').dispatchEvent(
            new DragEvent('drop', { dataTransfer: data, bubbles: true, cancelable: true }));
        }""",
        {name: list(content) for name, content in files.items()},
    )


KEEPS_NOTHING = "indexedDB.open = () => { throw new Error('not here'); };"
NO_ROOM = """{
  const put = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (row) {
    if (row.file) throw new DOMException('full', 'QuotaExceededError');
    return put.call(this, row);
  };
}"""


@pytest.mark.browser
@pytest.mark.parametrize("lack", [KEEPS_NOTHING, NO_ROOM], ids=["keeps nothing", "no room"])
def test_a_browser_that_keeps_no_files_sends_while_the_page_is_open(
    open_sender: Callable[..., Sender], tmp_path: Path, lack: str
) -> None:
    files = photographs(tmp_path / "phone", 3)
    sender = open_sender()
    sender.page.add_init_script(lack)
    sender.open()
    held: list[Route] = []
    sender.page.route(SENDS, lambda route: held.append(route) if route.request.method == "POST" else route.continue_())
    sender.choose(files)
    sender.says("Leave this page open")
    sender.page.wait_for_timeout(200)
    held.pop().continue_()
    sender.page.unroute(SENDS)
    sender.says("All sent: 3 files.")
    assert sender.names() == [path.name for path in files]


@pytest.mark.browser
def test_a_file_that_is_gone_is_named(open_sender: Callable[..., Sender], tmp_path: Path) -> None:
    files = photographs(tmp_path / "phone", 2)
    sender = open_sender()
    sender.page.add_init_script(NO_ROOM)
    sender.open()
    sender.page.route(SENDS, lambda route: route.abort() if route.request.method == "POST" else route.continue_())
    sender.choose(files)
    sender.says("Teachest does not answer.")
    files[0].unlink()
    sender.page.unroute(SENDS)
    sender.says("1 file could not be sent.")
    assert sender.pile("Not sent") == ["shelf00.jpg The file cannot be read any more. Choose it again."]
    assert sender.names() == ["shelf01.jpg"]


@pytest.mark.browser
def test_the_files_of_another_survey_wait_for_that(open_sender: Callable[..., Sender], tmp_path: Path) -> None:
    sender = open_sender()
    sender.open()
    own = sender.key()
    sender.page.evaluate("document.querySelector('upload-queue').dataset.survey = 'another'")
    sender.page.route(SENDS, lambda route: route.abort() if route.request.method == "POST" else route.continue_())
    sender.choose(photographs(tmp_path / "phone", 2))
    sender.says("Teachest does not answer.")
    sender.page.unroute(SENDS)
    sender.open()
    sender.page.wait_for_timeout(500)
    assert sender.key() == own and not sender.page.locator("upload-queue .count").is_visible()
    assert sender.names() == []


@pytest.fixture
def client(folder: Path) -> Iterator[CheckedClient]:
    made = web.create_app(folder)
    yield CheckedClient(made)
    made.extensions["survey"].close()


JSON = {"Accept": "application/json", "Origin": ORIGIN}


def test_a_script_is_told_how_each_file_ended(client: CheckedClient, tmp_path: Path) -> None:
    photo = photographs(tmp_path / "phone", 1)[0]
    told = [
        client.client.post(
            "/photos/add",
            data={"photos": (photo.open("rb"), name), "modified": "1780000000000"},
            headers=JSON,
        ).get_json()["files"]
        for name in ("first.jpg", "second.jpg")
    ]
    assert [(one["name"], one["how"], one["address"]) for (one,) in told] == [
        ("first.jpg", "added", "/photos/1"),
        ("second.jpg", "already", "/photos/1"),
    ]
    app: Flask = client.client.application
    (kept,) = list_photos(app.extensions["survey"])
    assert kept.taken_from == "file" and (kept.taken or "").startswith("2026-05-2"), "the browser's time of the file"


def test_refusals_are_told_to_a_script_in_words(client: CheckedClient) -> None:
    answer = client.client.post("/photos/add", data={}, headers=JSON)
    assert (answer.status_code, answer.get_json()["says"]) == (400, "No photo was chosen.")
    client.client.application.config["MAX_CONTENT_LENGTH"] = 1000
    answer = client.client.post("/photos/add", data={"photos": (io.BytesIO(b"x" * 2000), "a.jpg")}, headers=JSON)
    assert answer.status_code == 413 and "more than one sending may hold" in answer.get_json()["says"]
    assert client.client.get("/photos/99", headers=JSON).get_json()["says"].startswith("There is no photo 99")


def test_the_queue_is_named_after_the_survey_and_not_its_folder(folder: Path, tmp_path: Path) -> None:
    def key(place: Path) -> str:
        made = web.create_app(place)
        told = CheckedClient(made).get("/photos/add").all("upload-queue")[0]["data-survey"]
        made.extensions["survey"].close()
        return told

    make_survey(tmp_path / "other", "lightweight", "Ferryman in boxes").close()
    before = key(folder)
    assert before == key(folder.rename(tmp_path / "moved")) != key(tmp_path / "other")
