"""Taking photos in: every file ends as added, already here, or refused with a reason, and nothing acknowledged is lost.

Order, for each: stream to incoming/ while hashing; fsync; rename into originals/; fsync the folder; then one
transaction of the ledger; then it is reported to the caller; the smaller pictures last, which can always be made again.
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
from survey.photos.staging import (
    StagedFile,
    is_original_intact,
    move_to_originals,
    open_staging,
    stage_file,
    sync_file,
)
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
        ledger: called only from the calling thread.
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


def make_new_photo(staged: StagedFile, decoded: DecodedPhoto) -> NewPhoto:
    """A new photo from what the file system and the picture hold."""
    facts = decoded.facts
    if facts.taken is None and staged.offered.file_time:
        facts = replace(facts, taken=staged.offered.file_time, taken_from="file", offset=None)
    return NewPhoto(
        staged.sha256,
        staged.offered.name,
        decoded.format,
        decoded.width,
        decoded.height,
        staged.bytes,
        staged.path,
        facts.taken,
        facts.taken_from,
        facts.offset,
        facts.make,
        facts.model,
        facts.has_position,
        decoded.pixel_hash,
        staged.offered.shown,
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
            staged = _in_order(pool, lambda offered: stage_file(offered, self.room), self._offered(offers), workers)
            decoded = _in_order(pool, self._decode_if_new, self._look_up(staged), workers)
            for item, future in decoded:
                self._end(item, future)
            self._record()
        finally:
            pool.shutdown(wait=True, cancel_futures=True)

    def _offered(self, offers: Iterable[Offered | Refused]) -> Iterator[Offered]:
        for offer in offers:
            if isinstance(offer, Refused):
                self._refuse(offer.path, offer.reason, offer.message)
            else:
                yield offer

    def _look_up(
        self, staged_files: Iterable[tuple[Offered, Future[StagedFile]]]
    ) -> Iterator[tuple[StagedFile, int | None]]:
        """Staged files, each with the id of its photo if the survey has it; a twin of a file in work waits for that."""
        for offer, future in staged_files:
            try:
                staged = future.result()
            except UnusableFile as refusal:
                self._refuse(offer.shown, refusal.reason, refusal.message)
                continue
            if staged.sha256 in self.twins:
                self.twins[staged.sha256].append(offer)
                staged.file.unlink()
                continue
            photo = self.ledger.known(staged.sha256)
            if photo is None:
                self.twins[staged.sha256] = []
            yield staged, photo

    def _decode_if_new(self, item: tuple[StagedFile, int | None]) -> DecodedPhoto | None:
        """In a thread: make a new file safe and decode it; None for one whose own copy in the survey is whole."""
        staged, photo = item
        if photo is not None and is_original_intact(self.folder, staged):
            return None
        sync_file(staged)
        return pictures.decode_safely(staged.file)

    def _end(self, item: tuple[StagedFile, int | None], future: Future[DecodedPhoto | None]) -> None:
        staged, photo = item
        try:
            decoded = future.result()
        except UnusableFile as refusal:
            staged.file.unlink(missing_ok=True)
            for offer in (staged.offered, *self.twins.pop(staged.sha256, ())):
                self._refuse(offer.shown, refusal.reason, refusal.message)
            return
        if photo is not None:
            self._end_known(staged, photo, damaged=decoded is not None)
        elif decoded is not None:
            self.batch.append((staged, decoded))
            if len(self.batch) >= PHOTOS_A_TRANSACTION:
                self._record()

    def _end_known(self, staged: StagedFile, photo: int, damaged: bool) -> None:
        path = staged.offered.shown
        if damaged:
            move_to_originals(self.folder, [staged])
            self.warned.append(Refused(path, "put-back", "The survey's own copy was damaged; this one took its place."))
        else:
            staged.file.unlink()
        self.already.append(Taken(photo, path, staged.sha256))
        self._report(staged.offered)

    def _record(self) -> None:
        """Keep the batch's files, record them, and only then acknowledge them; smaller pictures come last."""
        batch, self.batch = self.batch, []
        if not batch:
            return
        move_to_originals(self.folder, [staged for staged, _ in batch])
        arrivals = [make_new_photo(staged, decoded) for staged, decoded in batch]
        alike = [self.ledger.lookalike(arrival.pixel_hash) for arrival in arrivals]
        photos = self.ledger.record(arrivals)
        first: dict[str, int] = {}
        for (staged, decoded), arrival, photo, like in zip(batch, arrivals, photos, alike, strict=True):
            self.added.append(Taken(photo, arrival.source, arrival.sha256))
            self._warn(arrival, decoded.cut_short, like or first.get(arrival.pixel_hash))
            first.setdefault(arrival.pixel_hash, photo)
            self._report(staged.offered)
            for twin in self.twins.pop(arrival.sha256, ()):
                self.already.append(Taken(photo, twin.shown, arrival.sha256))
                self._report(twin)
        for staged, decoded in batch:
            with contextlib.suppress(OSError):  # they are made when they are first asked for
                pictures.write_pictures(self.folder, staged.sha256, decoded)

    def _warn(self, arrival: NewPhoto, cut_short: bool, like: int | None) -> None:
        if cut_short:
            message = "The end of the file is missing; what there is of the picture was taken in."
            self.warned.append(Refused(arrival.source, "cut-short", message))
        if like is not None:
            message = f"It looks the same as photo {like}, though the files differ; both are kept."
            self.warned.append(Refused(arrival.source, "looks-like", message))

    def _refuse(self, path: str, reason: str, message: str) -> None:
        self.refused.append(Refused(path, reason, message))
        self.done += 1
        self.progress(self.done, self.total, path)

    def _report(self, offered: Offered) -> None:
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
    """Record originals that no photo names, if their bytes have the hash in their name; `check` reports the others."""
    adopted = []
    for file in sorted((folder / layout.ORIGINALS).glob("??/*")):
        name_match = _ORIGINAL.fullmatch(file.name)
        if not name_match or ledger.known(name_match[1]) is not None:
            continue
        stat = file.stat()
        offered = Offered(file.name, file.name, file_time(stat.st_mtime), file)
        path = file.relative_to(folder).as_posix()
        staged = StagedFile(offered, file, name_match[1], stat.st_size, path)
        if not is_original_intact(folder, staged):
            continue
        try:
            decoded = pictures.decode_safely(file)
        except UnusableFile:
            continue
        (photo,) = ledger.record([make_new_photo(staged, decoded)])
        adopted.append(Taken(photo, path, staged.sha256))
        with contextlib.suppress(OSError):
            pictures.write_pictures(folder, staged.sha256, decoded)
    return adopted
