"""Taking photos in, so that nothing acknowledged is ever lost.

For each file: stream to incoming/ while hashing, sync, decode; then rename into originals/, sync the directory,
record it in one transaction with its history; only then is it acknowledged. Derived pictures come last: they can
always be made again. A kill at any moment leaves either nothing of a file or all of it; what lies in originals/
without a record is taken up by the next intake.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Protocol

from survey.errors import CannotWrite
from survey.folder import layout
from survey.folder.content import HEAD_BYTES, SUFFIXES, NotTaken, sniff
from survey.folder.developing import Developed
from survey.folder.pictures import develop, write_pictures
from survey.folder.sources import MOST_BYTES_OF_A_FILE, Candidate, find
from survey.model import IntakeResult, Refused, Taken

Progress = Callable[[int, int, str], None]

WORKERS = max(2, min(4, os.cpu_count() or 2))
BATCH = 8
"""Photos recorded in one transaction at the most; each is acknowledged only when it is on disk."""

_CHUNK = 1 << 20
_ENDINGS = {**SUFFIXES, "mpo": "jpg"}


@dataclass(frozen=True, slots=True)
class Arrival:
    """Everything known of one accepted photo before it is recorded; the fields are those of ``survey.model.Photo``.

    ``pixel_hash``: of the decoded picture. ``source``: where it came from.
    """

    sha256: str
    name: str
    format: str
    width: int
    height: int
    bytes: int
    path: str
    taken: str | None
    taken_from: str | None
    offset: str | None
    make: str
    model: str
    has_position: bool
    pixel_hash: str
    source: str


class Ledger(Protocol):
    """What the intake asks of the survey's database."""

    def known(self, sha256: str) -> int | None:
        """The photo of that hash, if it is here."""

    def lookalike(self, pixel_hash: str) -> int | None:
        """A photo with the same pixels, if one is here."""

    def record(self, arrivals: Sequence[Arrival]) -> list[int]:
        """Record photos in one transaction; their numbers."""


@dataclass(frozen=True, slots=True)
class _Landed:
    """A file in incoming/, synced, hashed and decoded."""

    candidate: Candidate
    incoming: Path
    sha256: str
    bytes: int
    decoded: Developed


@dataclass(frozen=True, slots=True)
class _Known:
    candidate: Candidate
    photo: int
    sha256: str


def take_in(
    folder: Path, sources: Sequence[Path], ledger: Ledger, progress: Progress | None = None
) -> IntakeResult:
    """Take in every photo under the sources; see the module's docstring for the order of writing.

    Raises:
        CannotWrite: the survey's folder cannot be written.
    """
    incoming = folder / layout.INCOMING
    try:
        incoming.mkdir(exist_ok=True)
        (incoming / f".{os.getpid()}").touch()
        (incoming / f".{os.getpid()}").unlink()
    except OSError as fault:
        raise CannotWrite(f"The survey in {str(folder)!r} cannot be written.", "Check that it is not read-only.") from fault
    return _Intake(folder, ledger, progress).run(list(find(sources)))


def clear_incoming(folder: Path) -> int:
    """Throw away what an interrupted intake left half copied; returns how many files. Originals are never touched."""
    left = [path for path in (folder / layout.INCOMING).glob("*.part") if path.is_file()]
    for path in left:
        path.unlink(missing_ok=True)
    return len(left)


def strays(folder: Path, is_known: Callable[[str], bool]) -> list[Path]:
    """Originals that were put in place but not recorded before a kill: no photo names their hash."""
    return [
        path
        for path in sorted((folder / layout.ORIGINALS).glob("??/*"))
        if path.is_file() and not is_known(path.name.split(".", 1)[0])
    ]


class _Intake:
    """One run: workers land files two by two, this thread puts them in place and records them in order."""

    def __init__(self, folder: Path, ledger: Ledger, progress: Progress | None) -> None:
        self._folder = folder
        self._ledger = ledger
        self._progress = progress
        self._added: list[Taken] = []
        self._already: list[Taken] = []
        self._refused: list[Refused] = []
        self._warned: list[Refused] = []
        self._seen: dict[str, _Landed] = {}
        self._done = 0
        self._total = 0

    def run(self, found: Sequence[Candidate | Refused]) -> IntakeResult:
        self._total = len(found)
        waiting: list[_Landed] = []
        try:
            with contextlib.closing(self._landings(found)) as landings:
                for landing in landings:
                    self._sort(landing, waiting)
                    if len(waiting) >= BATCH:
                        self._keep(waiting)
                self._keep(waiting)
        finally:
            for landed in waiting:
                landed.incoming.unlink(missing_ok=True)
        return IntakeResult(tuple(self._added), tuple(self._already), tuple(self._refused), tuple(self._warned))

    def _landings(self, found: Sequence[Candidate | Refused]) -> Iterator[_Landed | _Known | Refused]:
        """What became of each file, in order; only a few files are under way at once."""
        crew = ThreadPoolExecutor(WORKERS)
        under_way: deque[Future[_Landed | _Known | Refused]] = deque()
        try:
            for one in found:
                under_way.append(crew.submit(self._land, one))
                if len(under_way) >= 2 * WORKERS:
                    yield under_way.popleft().result()
            while under_way:
                yield under_way.popleft().result()
        finally:
            for late in under_way:
                late.cancel()
            crew.shutdown(wait=True)
            for late in under_way:
                if not late.cancelled() and late.exception() is None and isinstance(late.result(), _Landed):
                    late.result().incoming.unlink(missing_ok=True)  # type: ignore[union-attr]

    def _land(self, one: Candidate | Refused) -> _Landed | _Known | Refused:
        if isinstance(one, Refused):
            return one
        incoming = self._folder / layout.INCOMING / f"{secrets.token_hex(12)}.part"
        try:
            sha256, size = _copy(one, incoming)
            photo = self._ledger.known(sha256)
            if photo is not None:
                incoming.unlink()
                return _Known(one, photo, sha256)
            return _Landed(one, incoming, sha256, size, develop(incoming))
        except NotTaken as no:
            incoming.unlink(missing_ok=True)
            return Refused(one.source, no.reason, no.message)
        except BaseException:
            incoming.unlink(missing_ok=True)
            raise

    def _sort(self, landing: _Landed | _Known | Refused, waiting: list[_Landed]) -> None:
        if isinstance(landing, Refused):
            self._refused.append(landing)
            self._count(landing.path)
        elif isinstance(landing, _Known):
            self._already.append(Taken(landing.photo, landing.candidate.source, landing.sha256))
            self._count(landing.candidate.name)
        elif landing.sha256 in self._seen:
            self._keep(waiting)
            landing.incoming.unlink(missing_ok=True)
            photo = self._ledger.known(landing.sha256)
            self._already.append(Taken(photo or 0, landing.candidate.source, landing.sha256))
            self._count(landing.candidate.name)
        else:
            self._seen[landing.sha256] = landing
            waiting.append(landing)

    def _keep(self, waiting: list[_Landed]) -> None:
        """Rename, sync the directories, record, acknowledge; pictures last."""
        if not waiting:
            return
        batch = list(waiting)
        alike = [self._ledger.lookalike(landed.decoded.pixel_hash) for landed in batch]
        arrivals = [_arrival(landed) for landed in batch]
        rooms: set[Path] = set()
        for landed, arrival in zip(batch, arrivals, strict=True):
            original = self._folder / arrival.path
            original.parent.mkdir(parents=True, exist_ok=True)
            os.replace(landed.incoming, original)
            rooms |= {original.parent, original.parent.parent}
        for room in rooms:
            _sync_directory(room)
        photos = self._ledger.record(arrivals)
        waiting.clear()
        for landed, photo, twin in zip(batch, photos, alike, strict=True):
            self._added.append(Taken(photo, landed.candidate.source, landed.sha256))
            self._warn(landed, twin)
            with contextlib.suppress(OSError):
                write_pictures(self._folder, landed.sha256, landed.decoded)
            self._seen[landed.sha256] = landed = _without_pictures(landed)
            self._count(landed.candidate.name)

    def _warn(self, landed: _Landed, twin: int | None) -> None:
        source = landed.candidate.source
        if landed.decoded.cut_short:
            self._warned.append(Refused(source, "cut-short", "The file lacks its last bytes; what is there was taken in."))
        if twin is not None:
            self._warned.append(Refused(source, "looks-like", f"It looks the same as photo {twin}; both are kept."))

    def _count(self, name: str) -> None:
        self._done += 1
        if self._progress is not None:
            self._progress(self._done, self._total, name)


def _without_pictures(landed: _Landed) -> _Landed:
    """The same without the decoded bytes, so that a thousand photos do not pile up in memory."""
    bare = Developed(**{**{n: getattr(landed.decoded, n) for n in Developed.__slots__}, "thumb": b"", "view": b""})
    return _Landed(landed.candidate, landed.incoming, landed.sha256, landed.bytes, bare)


def _copy(candidate: Candidate, to: Path) -> tuple[str, int]:
    """Stream the file to incoming/, synced; its SHA-256 and size in bytes."""
    digest, size = hashlib.sha256(), 0
    try:
        source = candidate.open()
    except Exception as fault:  # a zip entry's header may be damaged in as many ways as there are codecs
        raise NotTaken("unreadable", f"It cannot be opened: {fault}.") from fault
    with source, to.open("xb") as out:
        while chunk := _chunk(source):
            size += len(chunk)
            if size > MOST_BYTES_OF_A_FILE:
                raise NotTaken("too-large", "It is larger than 512 MiB, which no photo is.")
            if size == len(chunk):
                _prove_start(chunk[:HEAD_BYTES])
            digest.update(chunk)
            out.write(chunk)
        if size == 0:
            raise NotTaken("empty", "The file is empty.")
        out.flush()
        os.fsync(out.fileno())
    return digest.hexdigest(), size


def _chunk(source: object) -> bytes:
    try:
        found: bytes = source.read(_CHUNK)  # type: ignore[attr-defined]
    except Exception as fault:  # as above: reading a damaged zip entry
        raise NotTaken("damaged", f"It breaks off while being read: {fault}.") from fault
    return found


def _prove_start(start: bytes) -> None:
    """Refuse at the first bytes what is no picture at all, before it is copied."""
    if sniff(start) == "zip":
        raise NotTaken("nested-zip", "It is a zip file inside a zip file; unpack it and take that in.")


def _arrival(landed: _Landed) -> Arrival:
    facts, decoded = landed.decoded.facts, landed.decoded
    taken, taken_from = facts.taken, facts.taken_from
    if taken is None and landed.candidate.modified is not None:
        with contextlib.suppress(OSError, OverflowError, ValueError):
            taken = datetime.fromtimestamp(landed.candidate.modified).replace(microsecond=0).isoformat()
            taken_from = "file"
    ending = _ENDINGS[decoded.format]
    return Arrival(
        sha256=landed.sha256,
        name=landed.candidate.name,
        format=decoded.format,
        width=decoded.width,
        height=decoded.height,
        bytes=landed.bytes,
        path=f"{layout.ORIGINALS}/{landed.sha256[:2]}/{landed.sha256}.{ending}",
        taken=taken,
        taken_from=taken_from,
        offset=facts.offset,
        make=facts.make,
        model=facts.model,
        has_position=facts.has_position,
        pixel_hash=decoded.pixel_hash,
        source=landed.candidate.source,
    )


def _sync_directory(path: Path) -> None:
    if os.name == "nt":
        return  # Windows keeps directory entries itself and has no handle to sync
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
