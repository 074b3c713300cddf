"""What a backup is, and the check of one that anybody may have made: nothing in it is trusted.

A backup is a zip file (APPNOTE.TXT 6.3.10) whose entries are stored, not packed:

survey.db                 a copy of the database, for other programs; never read back
data/TABLE.jsonl          every row of every table, one JSON object to a line, the history among them
originals/ab/abcd….jpg    the photos as they came, named by their SHA-256
manifest.json             when, by what, of what survey, and size and SHA-256 of each of the others

The comment of the zip file is the SHA-256 of all that lies before it, so one changed byte anywhere is found. That
is no signature: who changes a backup can seal it again, so all the rest is checked without it.
"""

from __future__ import annotations

import hashlib
import json
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO, Any

from survey.errors import DamagedBackup
from survey.photos.file_type import UnusableFile
from survey.photos.sources import open_file

FORMAT = "teachest-backup"
VERSION = 1
MANIFEST = "manifest.json"
SNAPSHOT = "survey.db"
SEAL = b"Teachest backup, SHA-256 of all before this: "
DIGEST_CHARACTERS = 64
CHUNK_BYTES = 1 << 20

_NAME = re.compile(
    r"survey\.db|manifest\.json|data/[a-z_]{1,40}\.jsonl|originals/([0-9a-f]{2})/\1[0-9a-f]{62}\.[a-z]{2,5}", re.ASCII
)
_SHA256 = re.compile(r"[0-9a-f]{64}", re.ASCII)
_MOST_ENTRIES = 1_000_000
_MOST_MANIFEST_BYTES = 512 << 20
_MOST_LINE_BYTES = 4 << 20
_LOCAL_HEADER = struct.Struct("<4s5H3I2H")
_IN_ZIP64 = 0xFFFFFFFF
_UNREADABLE = (
    zipfile.BadZipFile, zlib.error, struct.error, EOFError, LookupError, NotImplementedError, RuntimeError, ValueError,
    OverflowError, OSError,
)  # fmt: skip
_NEXT = "Nothing was changed. Use another backup."


@dataclass(frozen=True, slots=True)
class FileEntry:
    """Size in bytes and SHA-256 of one entry, as the manifest has them."""

    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """The description of a backup that lies in it.

    ``steps``: names of the schema's steps it was written at. ``damaged``: originals that were gone or changed already
    when it was made.
    """

    made_at: str
    made_by: str
    name: str
    steps: tuple[str, ...]
    damaged: tuple[str, ...]
    files: Mapping[str, FileEntry]

    def written(self) -> bytes:
        """The manifest as the bytes that the backup holds."""
        content = {"format": FORMAT, "version": VERSION, **asdict(self)}
        return (json.dumps(content, indent=1) + "\n").encode("ascii")


class Backup:
    """A backup that was found whole; its entries may be read. ``open_backup`` gives one."""

    def __init__(self, stream: IO[bytes]) -> None:
        self._zip = zipfile.ZipFile(stream)
        self._entries = {entry.filename: entry for entry in _require_sound_entries(self._zip, stream)}
        self.manifest = self._manifest()
        for name, file_entry in self.manifest.files.items():
            if self._hash(name) != file_entry.sha256:
                raise _damaged(f"{name} is not what the manifest says")

    @property
    def tables(self) -> tuple[str, ...]:
        """The tables whose rows it holds."""
        return tuple(name[5:-6] for name in self._entries if name.startswith("data/"))

    def rows(self, table: str) -> Iterator[dict[str, Any]]:
        """The rows of a table: names to text, numbers or None.

        Raises:
            DamagedBackup: a line is no such row.
        """
        with self.opened(f"data/{table}.jsonl") as stream:
            while line := stream.readline(_MOST_LINE_BYTES):
                yield _row(table, line)

    @contextmanager
    def opened(self, name: str) -> Iterator[IO[bytes]]:
        """The bytes of an entry."""
        with self._zip.open(self._entries[name]) as stream:
            yield stream

    def _manifest(self) -> Manifest:
        entry = self._entries.get(MANIFEST)
        if entry is None or entry.file_size > _MOST_MANIFEST_BYTES:
            raise _damaged("it has no manifest")
        manifest = _read_manifest(self._zip.read(entry))
        sizes = {name: entry_info.file_size for name, entry_info in self._entries.items() if name != MANIFEST}
        if sizes != {name: file_entry.bytes for name, file_entry in manifest.files.items()}:
            raise _damaged("its entries are not those of its manifest")
        return manifest

    def _hash(self, name: str) -> str:
        digest = hashlib.sha256()
        with self.opened(name) as stream:
            while chunk := stream.read(CHUNK_BYTES):
                digest.update(chunk)
        return digest.hexdigest()


@contextmanager
def open_backup(path: Path) -> Iterator[Backup]:
    """A backup, read from end to end and found whole: seal, names, places, sizes, hashes.

    Raises:
        DamagedBackup: it is not, or is none.
    """
    try:
        with open_file(path) as stream:
            _require_seal(stream)
            try:
                backup = Backup(stream)
            except _UNREADABLE as error:
                raise _damaged(f"it cannot be read ({error or type(error).__name__})") from error
            yield backup
    except UnusableFile as refusal:
        raise DamagedBackup(f"The backup {str(path)!r} cannot be read. {refusal.message}", _NEXT) from None


def compute_seal(stream: IO[bytes]) -> str:
    """The digest that belongs at the very end of a backup, over all that lies before it."""
    end = stream.seek(0, 2) - DIGEST_CHARACTERS
    stream.seek(0)
    digest = hashlib.sha256()
    while chunk := stream.read(min(CHUNK_BYTES, end - stream.tell())):
        digest.update(chunk)
    return digest.hexdigest()


def _require_seal(stream: IO[bytes]) -> None:
    end = stream.seek(0, 2)
    tail = len(SEAL) + DIGEST_CHARACTERS
    if end > tail:
        stream.seek(end - tail)
        ending = stream.read(tail)
        if ending.startswith(SEAL) and ending[len(SEAL) :] == compute_seal(stream).encode():
            return
    raise _damaged("its seal is missing or does not fit: it was cut short, changed, or is no backup of Teachest's")


def _require_sound_entries(archive: zipfile.ZipFile, stream: IO[bytes]) -> list[zipfile.ZipInfo]:
    """The entries, if each has a name that a backup can have, once, and lies where no other does."""
    entries = archive.infolist()
    if len(entries) > _MOST_ENTRIES:
        raise _damaged("it has more entries than a survey can have")
    seen: set[str] = set()
    for entry in entries:
        if not _NAME.fullmatch(entry.filename) or entry.orig_filename != entry.filename or entry.filename in seen:
            raise _damaged(f"it holds an entry that no backup has, or twice: {entry.orig_filename[:80]!a}")
        seen.add(entry.filename)
        packed = entry.compress_type != zipfile.ZIP_STORED or entry.compress_size != entry.file_size
        if packed or entry.flag_bits or stat.S_IFMT(entry.external_attr >> 16) not in (0, stat.S_IFREG):
            raise _damaged(f"{entry.filename} is packed, locked or no plain file")
    end = 0
    for entry in sorted(entries, key=lambda entry: entry.header_offset):
        if entry.header_offset != end:
            raise _damaged(f"{entry.filename} lies over another entry, or something is hidden before it")
        end = _find_end_of_entry(entry, stream)
    if end != archive.start_dir:
        raise _damaged("its entries do not end where its list begins")
    return entries


def _find_end_of_entry(entry: zipfile.ZipInfo, stream: IO[bytes]) -> int:
    """Where the bytes of an entry end, if its own header agrees with the list."""
    stream.seek(entry.header_offset)
    mark, _, flags, method, _, _, crc, packed, size, name_bytes, extra_bytes = _LOCAL_HEADER.unpack(
        stream.read(_LOCAL_HEADER.size)
    )
    same = (mark, flags, method, crc) == (b"PK\x03\x04", 0, zipfile.ZIP_STORED, entry.CRC)
    sizes = {packed, size} <= {entry.file_size, _IN_ZIP64}
    if not same or not sizes or stream.read(name_bytes) != entry.filename.encode("ascii"):
        raise _damaged(f"the header of {entry.filename} contradicts the list")
    return int(entry.header_offset + _LOCAL_HEADER.size + name_bytes + extra_bytes + entry.file_size)


def _read_manifest(text: bytes) -> Manifest:
    try:
        content = json.loads(text)
        if content.pop("format") != FORMAT:
            raise _damaged("it is no backup of Teachest's")
        if content.pop("version") != VERSION:
            raise _damaged("it was written by a later Teachest")
        files = {name: FileEntry(**entry) for name, entry in content.pop("files").items()}
        steps, damaged = tuple(content.pop("steps")), tuple(content.pop("damaged"))
        manifest = Manifest(**content, steps=steps, damaged=damaged, files=files)
    except (TypeError, ValueError, KeyError, AttributeError, RecursionError) as error:
        raise _damaged("its manifest cannot be read") from error
    texts = [manifest.made_at, manifest.made_by, manifest.name, *steps, *damaged]
    sound = all(isinstance(text, str) for text in texts) and all(
        type(entry.bytes) is int and isinstance(entry.sha256, str) and _SHA256.fullmatch(entry.sha256)
        for entry in files.values()
    )
    if not sound:
        raise _damaged("its manifest holds what it cannot")
    return manifest


def _row(table: str, line: bytes) -> dict[str, Any]:
    try:
        row = json.loads(line, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        raise _damaged(f"a line of {table} is no JSON") from error
    scalar = isinstance(row, dict) and all(type(value) in (str, int, float, type(None)) for value in row.values())
    if not scalar or any(isinstance(value, str) and "\0" in value for value in row.values()):
        raise _damaged(f"a line of {table} is no row")
    return dict(row)


def _refuse_constant(word: str) -> None:
    raise ValueError(f"{word} is no number")


def _damaged(what: str) -> DamagedBackup:
    return DamagedBackup(f"The backup is not whole: {what}.", _NEXT)
