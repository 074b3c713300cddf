"""Taking photos in: every file ends as added, already here, or refused with a reason, and nothing acknowledged is lost.

Order, for each: stream to incoming/ while hashing; fsync; rename into originals/; fsync the folder; then one
transaction of the ledger; then the caller is told; the smaller pictures last, which can always be made again.
"""

from __future__ import annotations

import contextlib
import os
import re
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Protocol, TypeVar

from survey.model.photos import IntakeResult, PhotoFile, Refused, Taken
from survey.photos import pictures
from survey.photos.decode import DecodedPhoto
from survey.photos.file_type import UnusableFile
from survey.photos.metadata import file_time
from survey.photos.sources import Offered, walk_sources
from survey.photos.staging import StagedFile, is_original_intact, move_to_originals, open_staging, stage_file, sync_file
from survey.store import layout

PHOTOS_A_TRANSACTION = 8
"""Photos recorded in one transaction."""
WORTH_A_LOOK = 20
"""From so many files on, originals/ is looked over for files that no photo names; that costs about one photo."""

_ORIGINAL = re.compile(r"([0-9a-f]{64})\.[a-z]+", re.ASCII)
Progress = Callable[[int, int, str], None]
_Item = TypeVar("_Item")
_Answer = TypeVar("_Answer")


@dataclass(frozen=True, slots=True)
class NewPhoto(PhotoFile):
    """Everything known of one accepted photo, before it is recorded.

    ``pixel_hash``: of the small picture's pixels. ``source``: where it came from, safe to print.
    """

    pixel_hash: str
    source: str


class KnownPhotos(Protocol):
    """Who knows the photos of the survey."""

    def known(self, sha256: str) -> int | None:
        """The photo of that hash, if it is in the survey."""

    def lookalike(self, pixel_hash: str) -> int | None:
        """A photo of the same pixels, if one is in the survey."""

    def record(self, arrivals: Sequence[NewPhoto]) -> list[int]:
        """Record photos in one transaction; their ids in the same order."""


def run_intake(
    folder: Path, sources: Sequence[Path], ledger: KnownPhotos, progress: Progress | None = None
) -> IntakeResult:
    """Take photos from folders, files and zip files into a survey.

    Args:
        folder: the survey's folder.
        ledger: asked and told only from the calling thread.
        progress: called as ``progress(done, total, name)`` after each file has ended.

    Raises:
        CannotWrite: the disk is full or the folder cannot be written; what was acknowledged stays.
        SurveyBusy: another intake into the same survey does not end.
    """
    offers = list(walk_sources(sources, folder))
    with open_staging(folder) as (room, broken_off):
        run = _Run(folder, room, ledger, progress or (lambda _done, _total, _name: None), len(offers))
        run.take(offers)
        if broken_off or len(offers) >= WORTH_A_LOOK:
            run.added += _adopt(folder, ledger)
        return run.result()


def adopt_orphans(folder: Path, ledger: KnownPhotos) -> list[Taken]:
    """Clear what a broken-off intake left in incoming/ and adopt originals that no photo names. Deletes no original.

    Returns:
        What was adopted.

    Raises:
        SurveyBusy: an intake is going on; it is not waited for.
        CannotWrite: the folder cannot be written.
    """
    with open_staging(folder, busy_seconds=0.0):
        return _adopt(folder, ledger)


def make_new_photo(landed: StagedFile, developed: DecodedPhoto) -> NewPhoto:
    """Put together what the file system and the picture say."""
    facts = developed.facts
    if facts.taken is None and landed.offered.file_time:
        facts = replace(facts, taken=landed.offered.file_time, taken_from="file", offset=None)
    return NewPhoto(
        landed.sha256,
        landed.offered.name,
        developed.format,
        developed.width,
        developed.height,
        landed.bytes,
        landed.path,
        facts.taken,
        facts.taken_from,
        facts.offset,
        facts.make,
        facts.model,
        facts.has_position,
        developed.pixel_hash,
        landed.offered.shown,
    )


@dataclass(slots=True)
class _Run:
    """One intake. Two stages run in threads, each in order and only a few files ahead; all else in the caller's."""

    folder: Path
    room: Path
    ledger: KnownPhotos
    progress: Progress
    total: int
    done: int = 0
    added: list[Taken] = field(default_factory=list)
    already: list[Taken] = field(default_factory=list)
    refused: list[Refused] = field(default_factory=list)
    warned: list[Refused] = field(default_factory=list)
    batch: list[tuple[StagedFile, DecodedPhoto]] = field(default_factory=list)
    twins: dict[str, list[Offered]] = field(default_factory=dict)

    def result(self) -> IntakeResult:
        return IntakeResult(tuple(self.added), tuple(self.already), tuple(self.refused), tuple(self.warned))

    def take(self, offers: Iterable[Offered | Refused]) -> None:
        workers = min(4, os.cpu_count() or 1)
        pool = ThreadPoolExecutor(workers, thread_name_prefix="intake")
        try:
            landed = _in_order(pool, lambda one: stage_file(one, self.room), self._offered(offers), workers)
            readied = _in_order(pool, self._ready, self._unknown(landed), workers)
            for one, future in readied:
                self._end(one, future)
            self._record()
        finally:
            pool.shutdown(wait=True, cancel_futures=True)

    def _offered(self, offers: Iterable[Offered | Refused]) -> Iterator[Offered]:
        for offer in offers:
            if isinstance(offer, Refused):
                self._refuse(offer.path, offer.reason, offer.message)
            else:
                yield offer

    def _unknown(self, landed: Iterable[tuple[Offered, Future[StagedFile]]]) -> Iterator[tuple[StagedFile, int | None]]:
        """Landed files with the photo they are already, if any; a twin of one that is on its way waits for it."""
        for offer, future in landed:
            try:
                one = future.result()
            except UnusableFile as refusal:
                self._refuse(offer.shown, refusal.reason, refusal.message)
                continue
            if one.sha256 in self.twins:
                self.twins[one.sha256].append(offer)
                one.file.unlink()
                continue
            photo = self.ledger.known(one.sha256)
            if photo is None:
                self.twins[one.sha256] = []
            yield one, photo

    def _ready(self, item: tuple[StagedFile, int | None]) -> DecodedPhoto | None:
        """In a thread: make a new file safe and decode it; None for one whose own copy in the survey is whole."""
        landed, photo = item
        if photo is not None and is_original_intact(self.folder, landed):
            return None
        sync_file(landed)
        return pictures.decode_safely(landed.file)

    def _end(self, item: tuple[StagedFile, int | None], future: Future[DecodedPhoto | None]) -> None:
        landed, photo = item
        try:
            developed = future.result()
        except UnusableFile as refusal:
            landed.file.unlink(missing_ok=True)
            for offer in (landed.offered, *self.twins.pop(landed.sha256, ())):
                self._refuse(offer.shown, refusal.reason, refusal.message)
            return
        if photo is not None:
            self._meet_again(landed, photo, damaged=developed is not None)
        elif developed is not None:
            self.batch.append((landed, developed))
            if len(self.batch) >= PHOTOS_A_TRANSACTION:
                self._record()

    def _meet_again(self, landed: StagedFile, photo: int, damaged: bool) -> None:
        shown = landed.offered.shown
        if damaged:
            move_to_originals(self.folder, [landed])
            self.warned.append(
                Refused(shown, "put-back", "The survey's own copy was damaged; this one took its place.")
            )
        else:
            landed.file.unlink()
        self.already.append(Taken(photo, shown, landed.sha256))
        self._tell(landed.offered)

    def _record(self) -> None:
        """Keep the batch's files, record them, and only then acknowledge them; smaller pictures come last."""
        batch, self.batch = self.batch, []
        if not batch:
            return
        move_to_originals(self.folder, [landed for landed, _ in batch])
        arrivals = [make_new_photo(landed, developed) for landed, developed in batch]
        alike = [self.ledger.lookalike(arrival.pixel_hash) for arrival in arrivals]
        photos = self.ledger.record(arrivals)
        first: dict[str, int] = {}
        for (landed, developed), arrival, photo, like in zip(batch, arrivals, photos, alike, strict=True):
            self.added.append(Taken(photo, arrival.source, arrival.sha256))
            self._warn(arrival, developed.cut_short, like or first.get(arrival.pixel_hash))
            first.setdefault(arrival.pixel_hash, photo)
            self._tell(landed.offered)
            for twin in self.twins.pop(arrival.sha256, ()):
                self.already.append(Taken(photo, twin.shown, arrival.sha256))
                self._tell(twin)
        for landed, developed in batch:
            with contextlib.suppress(OSError):  # they are made when they are first asked for
                pictures.write_pictures(self.folder, landed.sha256, developed)

    def _warn(self, arrival: NewPhoto, cut_short: bool, like: int | None) -> None:
        if cut_short:
            message = "The end of the file is missing; what there is of the picture was taken in."
            self.warned.append(Refused(arrival.source, "cut-short", message))
        if like is not None:
            message = f"It looks the same as photo {like}, though the files differ; both are kept."
            self.warned.append(Refused(arrival.source, "looks-like", message))

    def _refuse(self, shown: str, reason: str, message: str) -> None:
        self.refused.append(Refused(shown, reason, message))
        self.done += 1
        self.progress(self.done, self.total, shown)

    def _tell(self, offered: Offered) -> None:
        self.done += 1
        self.progress(self.done, self.total, offered.name)


def _in_order(
    pool: ThreadPoolExecutor, work: Callable[[_Item], _Answer], items: Iterable[_Item], ahead: int
) -> Iterator[tuple[_Item, Future[_Answer]]]:
    """Work on items in threads, a few ahead of the one that is asked for; answers come in the items' order."""
    waiting: deque[tuple[_Item, Future[_Answer]]] = deque()
    for item in items:
        waiting.append((item, pool.submit(work, item)))
        if len(waiting) > ahead:
            yield waiting.popleft()
    while waiting:
        yield waiting.popleft()


def _adopt(folder: Path, ledger: KnownPhotos) -> list[Taken]:
    """Record originals that no photo names, if they are what their name says; others stay for `check` to tell of."""
    adopted = []
    for file in sorted((folder / layout.ORIGINALS).glob("??/*")):
        named = _ORIGINAL.fullmatch(file.name)
        if not named or ledger.known(named[1]) is not None:
            continue
        told = file.stat()
        offered = Offered(file.name, file.name, file_time(told.st_mtime), file)
        path = file.relative_to(folder).as_posix()
        landed = StagedFile(offered, file, named[1], told.st_size, path)
        if not is_original_intact(folder, landed):
            continue
        try:
            developed = pictures.decode_safely(file)
        except UnusableFile:
            continue
        (photo,) = ledger.record([make_new_photo(landed, developed)])
        adopted.append(Taken(photo, path, landed.sha256))
        with contextlib.suppress(OSError):
            pictures.write_pictures(folder, landed.sha256, developed)
    return adopted
