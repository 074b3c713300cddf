"""Many uploads at once, the same photo ten times at once, and pages that do not wait."""

from __future__ import annotations

import hashlib
import threading
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from queue import Queue

import door_hands
import photo_factory as make
import pytest
from door_hands import Served

from survey.photos.verbs import list_photos, take_in_photos
from survey.safekeeping.check_verbs import check_survey
from survey.shelf.verbs import make_survey, open_survey
from web import server

PAGE_SECONDS = 2.0
AT_ONCE = 24
PAGES = ("/", "/photos/", "/parts/")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    make_survey(tmp_path / "heap", "lightweight", "Ferryman in boxes").close()
    return tmp_path / "heap"


def upload(door: Served, name: str, data: bytes) -> int:
    head = f'--x\r\nContent-Disposition: form-data; name="photos"; filename="{name}"\r\n\r\n'.encode()
    kind = "multipart/form-data; boundary=x"
    return door.ask(
        "POST", "/photos/add", head + data + b"\r\n--x--\r\n", Origin=f"http://{door.host}", Content_Type=kind
    )[0]


def all_at_once(door: Served, sent: Iterable[tuple[str, bytes]], meanwhile: Callable[[], None]) -> list[int]:
    """Send each from a thread of its own; what each was answered, once ``meanwhile`` was done again and again."""
    told: Queue[int] = Queue()
    crew = [threading.Thread(target=lambda one: told.put(upload(door, *one)), args=(one,)) for one in sent]
    for one in crew:
        one.start()
    while any(one.is_alive() for one in crew):
        meanwhile()
    return [told.get_nowait() for _ in crew]


def one_original_each(folder: Path, sent: Iterable[bytes]) -> None:
    hashes = sorted({hashlib.sha256(data).hexdigest() for data in sent})
    with open_survey(folder) as survey:
        assert sorted(photo.sha256 for photo in list_photos(survey)) == hashes
        assert check_survey(survey) == []
    kept = [path for path in (folder / "originals").rglob("*") if path.is_file()]
    assert sorted(hashlib.sha256(path.read_bytes()).hexdigest() for path in kept) == hashes


@pytest.mark.bench
def test_photos_sent_at_once_all_go_in_and_no_page_waits_for_them(folder: Path) -> None:
    door, waits = door_hands.served(folder), []
    sent = [make.picture(image=make.textured(1600, 1200, seed=number), quality=85) for number in range(AT_ONCE)]

    def look() -> None:
        for page in PAGES:
            begun = time.perf_counter()
            assert door.ask("GET", page)[0] == 200
            waits.append(time.perf_counter() - begun)

    assert all_at_once(door, [(f"{n}.jpg", data) for n, data in enumerate(sent)], look) == [200] * AT_ONCE
    assert max(waits) < PAGE_SECONDS, f"the slowest of {len(waits)} pages took {max(waits):.2f} s"
    one_original_each(folder, sent)


def test_the_same_photo_ten_times_at_once_is_one(folder: Path) -> None:
    door, data = door_hands.served(folder), make.picture(image=make.textured(800, 600, seed=7))
    told = all_at_once(door, [(f"copy{number}.jpg", data) for number in range(10)], lambda: time.sleep(0.05))
    assert told == [200] * 10
    one_original_each(folder, [data])


def page_while_taking_in(folder: Path, monkeypatch: pytest.MonkeyPatch) -> float:
    """The seconds a page takes while twelve uploads stand still in the middle; at most as long as they do."""
    door, gate = door_hands.served(folder), threading.Event()
    door.ask("GET", "/")
    whole = take_in_photos

    def held(*given: object) -> object:
        gate.wait(PAGE_SECONDS)
        return whole(*given)  # type: ignore[arg-type]

    monkeypatch.setattr("web.pages.photos_upload.take_in_photos", held)
    taken: list[float] = []

    def look() -> None:
        if not taken:
            time.sleep(0.5)  # by now each has had the time to take a thread
            begun = time.perf_counter()
            door.ask("GET", "/")
            taken.append(time.perf_counter() - begun)
            gate.set()
        time.sleep(0.02)

    photo = make.picture(image=make.textured(320, 240))
    assert all_at_once(door, [(f"{number}.jpg", photo) for number in range(12)], look) == [200] * 12
    return taken[0]


@pytest.mark.bench
def test_uploads_that_stand_still_hold_up_no_page(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert page_while_taking_in(folder, monkeypatch) < PAGE_SECONDS / 2


def test_without_a_lane_of_their_own_they_would(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "TAKING_IN", ())
    assert page_while_taking_in(folder, monkeypatch) > PAGE_SECONDS / 2
