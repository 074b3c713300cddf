"""What the owner offers: folders, files and zip files, walked into single files. Nothing is trusted.

A zip file is never unpacked by name; its entries are read as streams. Zip: APPNOTE.TXT 6.3.10.
"""

from __future__ import annotations

import lzma
import os
import stat
import struct
import threading
import time
import unicodedata
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from survey.model.photos import Refused
from survey.photos.file_type import HEAD_BYTES, UnusableFile, detect_file_type
from survey.photos.metadata import file_time

FILE_BYTES = 512 << 20
"""The largest file that is read as a photo."""
ZIP_ENTRIES = 50_000
ZIP_BYTES = 64 << 30
ZIP_RATIO = 100  # judgement: photos are packed already and hardly shrink; a bomb shrinks a thousandfold
_ZIP_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA)
_KEPT_BY_PROGRAMS = frozenset({"__MACOSX", "@eaDir", "$RECYCLE.BIN", "System Volume Information"})
_REVERSES_TEXT = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_UNREADABLE_ZIP = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, ArithmeticError, AttributeError, EOFError,
    LookupError, MemoryError, NotImplementedError, OSError, RuntimeError, TypeError, ValueError,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Offered:
    """One file that may be a photo. ``shown``: its path, safe to print. ``file_time``: local time or None."""

    shown: str
    name: str
    file_time: str | None
    where: Path
    archive: Archive | None = None
    entry: zipfile.ZipInfo | None = None

    @contextmanager
    def opened(self) -> Iterator[IO[bytes]]:
        """The bytes, from the start.

        Raises:
            NotTaken: it cannot be read.
        """
        if self.archive and self.entry:
            with self.archive.opened(self.entry) as stream:
                yield stream
        else:
            with open_file(self.where) as stream:
                yield stream


class Archive:
    """A zip file that stays open while its entries are read. Any thread may open an entry."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock = threading.Lock()
        self._zip: zipfile.ZipFile | None = None
        self._left = 0

    def prove(self) -> list[zipfile.ZipInfo]:
        """Its entries, after checking that the file as a whole is no trap.

        Raises:
            NotTaken: it is damaged, lies, or unpacks to too much.
        """
        try:
            with zipfile.ZipFile(self.path) as opened:
                entries = [entry for entry in opened.infolist() if not entry.is_dir()]
                _refuse_bomb(entries)
                _refuse_overlap(self.path, opened.infolist(), opened.start_dir)
        except _UNREADABLE_ZIP:
            raise UnusableFile("bad-zip", "The zip file is damaged and cannot be read; make it again.") from None
        self._left = len(entries)
        return entries

    @contextmanager
    def opened(self, entry: zipfile.ZipInfo) -> Iterator[IO[bytes]]:
        """One entry's bytes; the archive is closed when the last of them has been read."""
        try:
            with self._lock:
                self._zip = self._zip or zipfile.ZipFile(self.path)
            with self._zip.open(entry) as stream:
                yield stream
        except _UNREADABLE_ZIP:
            raise UnusableFile("damaged", "The zip file is damaged at this entry, or lies about its size.") from None
        finally:
            self.let_go()

    def let_go(self) -> None:
        """One entry fewer is still to be read."""
        with self._lock:
            self._left -= 1
            if self._left <= 0 and self._zip:
                self._zip.close()
                self._zip = None


def make_printable_path(path: str) -> str:
    """A path that is safe to show: what is no plain letter (newlines, bytes that are no UTF-8) is written as \\x0a."""
    raw = os.fsencode(path).decode("utf-8", "backslashreplace") if _has_stray_bytes(path) else path
    return "".join(_shown(letter) for letter in raw)


def _has_stray_bytes(text: str) -> bool:
    return any("\udc80" <= letter <= "\udcff" for letter in text)


def _shown(letter: str) -> str:
    if unicodedata.category(letter) not in ("Cc", "Cs", "Zl", "Zp") and letter not in _REVERSES_TEXT:
        return letter
    return f"\\x{ord(letter):02x}" if ord(letter) < 256 else f"\\u{ord(letter):04x}"


def walk_sources(sources: Sequence[Path], survey_folder: Path) -> Iterator[Offered | Refused]:
    """Every file of the sources, in the order of their names; the survey's own folder is left out."""
    walk = _Walk(survey_folder.resolve())
    for source in sources:
        yield from walk.source(source)


@dataclass(frozen=True, slots=True)
class _Walk:
    survey: Path
    seen: set[tuple[int, int]] = field(default_factory=set)

    def source(self, source: Path) -> Iterator[Offered | Refused]:
        """What the owner named: a link is followed here, because it was named."""
        try:
            is_folder = source.is_dir()
        except OSError:
            is_folder = False
        if is_folder:
            yield from self._folder(str(source), source.resolve())
        else:
            yield from self._file(str(source))

    def _folder(self, path: str, root: Path) -> Iterator[Offered | Refused]:
        try:
            here = os.stat(path)
            with os.scandir(path) as entries:
                inside = sorted(entries, key=lambda entry: entry.name)
        except OSError as error:
            yield _refused(path, "unreadable", f"The folder cannot be opened ({error.strerror or error}).")
            return
        if (here.st_dev, here.st_ino) in self.seen or os.path.realpath(path) == str(self.survey):
            return
        if here.st_ino:
            self.seen.add((here.st_dev, here.st_ino))
        for entry in inside:
            yield from self._entry(entry, root)

    def _entry(self, entry: os.DirEntry[str], root: Path) -> Iterator[Offered | Refused]:
        if entry.is_symlink() and not Path(os.path.realpath(entry.path)).is_relative_to(root):
            yield _refused(entry.path, "outside", "This link leads out of the folder; name its target itself.")
        elif _is_dir(entry):
            if entry.name.startswith(".") or entry.name in _KEPT_BY_PROGRAMS:
                message = "This folder is kept by the system or a program; name it itself if its photos are wanted."
                yield _refused(entry.path, "hidden-folder", message)
            else:
                yield from self._folder(entry.path, root)
        else:
            yield from self._file(entry.path)

    def _file(self, path: str) -> Iterator[Offered | Refused]:
        try:
            with open_file(Path(path)) as stream:
                status = os.fstat(stream.fileno())
                is_zip = stream.read(4) in (b"PK\x03\x04", b"PK\x05\x06")
        except UnusableFile as refusal:
            yield _refused(path, refusal.reason, refusal.message)
            return
        if is_zip:
            yield from _zip(path)
        else:
            shown = make_printable_path(path)
            yield Offered(shown, make_printable_path(os.path.basename(path)), file_time(status.st_mtime), Path(path))


def _is_dir(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:
        return False


@contextmanager
def open_file(path: Path) -> Iterator[IO[bytes]]:
    """A regular file, opened; never waits on a pipe or a device.

    Raises:
        NotTaken: it is no regular file, is too large, or cannot be read.
    """
    try:
        if not stat.S_ISREG(os.stat(path).st_mode):
            raise UnusableFile("not-a-regular-file", "This is a pipe, a device or another thing that is no file.")
        # It may be swapped for a pipe between the look and the opening: opened without waiting, and looked at again.
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with open(descriptor, "rb") as stream:
            status = os.fstat(stream.fileno())
            if not stat.S_ISREG(status.st_mode):
                raise UnusableFile("not-a-regular-file", "This is a pipe, a device or another thing that is no file.")
            yield stream
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise UnusableFile("unreadable", f"The file cannot be read ({reason}).") from None


def _zip(path: str) -> Iterator[Offered | Refused]:
    archive = Archive(Path(path))
    try:
        entries = archive.prove()
    except UnusableFile as refusal:
        yield _refused(path, refusal.reason, refusal.message)
        return
    if not entries:
        yield _refused(path, "empty", "The zip file holds no files.")
    for entry in entries:
        shown = f"{make_printable_path(path)}/{make_printable_path(entry.filename)}"
        try:
            _refuse_entry(entry)
        except UnusableFile as refusal:
            archive.let_go()
            yield Refused(shown, refusal.reason, refusal.message)
        else:
            name = make_printable_path(entry.filename.rsplit("/", 1)[-1])
            yield Offered(shown, name, _entry_time(entry), archive.path, archive, entry)


def _entry_time(entry: zipfile.ZipInfo) -> str | None:
    try:
        return file_time(time.mktime((*entry.date_time, 0, 0, -1)))
    except (OverflowError, ValueError):
        return None


def _refuse_entry(entry: zipfile.ZipInfo) -> None:
    name = getattr(entry, "orig_filename", entry.filename)
    steps = name.replace("\\", "/").split("/")
    if ".." in steps or name.startswith(("/", "\\")) or "\0" in name or name[1:2] == ":":
        raise UnusableFile("outside", "The entry's name leads out of the zip file; honest archives have no such names.")
    if entry.flag_bits & 0x1:
        raise UnusableFile("encrypted", "The entry is locked with a password; make the zip file without one.")
    mode = entry.external_attr >> 16
    if stat.S_IFMT(mode) not in (0, stat.S_IFREG):
        raise UnusableFile("not-a-regular-file", "The entry is a link or a device, not a file.")
    if entry.compress_type not in _ZIP_METHODS:
        raise UnusableFile("bad-zip", "The entry is packed in a way that is not read here; make the zip file again.")
    if entry.file_size > FILE_BYTES:
        raise UnusableFile("too-large", f"The entry is larger than {FILE_BYTES >> 20} megabytes; no photo is.")
    if entry.file_size > ZIP_RATIO * max(entry.compress_size, 1) + 4096:
        raise UnusableFile("zip-bomb", "The entry unpacks to far more than it holds; no photo does.")


def _refuse_bomb(entries: Sequence[zipfile.ZipInfo]) -> None:
    if len(entries) > ZIP_ENTRIES or sum(entry.file_size for entry in entries) > ZIP_BYTES:
        raise UnusableFile(
            "zip-bomb", "The zip file unpacks to more than any heap of photos; make several smaller ones."
        )


def _refuse_overlap(path: Path, entries: Sequence[zipfile.ZipInfo], end: int) -> None:
    """Entries must lie one behind the other before the list: shared bytes let a small file unpack to a huge one.

    CPython before the overlap fix of 2024 does not look, so it is done here.
    """
    reached = 0
    with path.open("rb") as stream:
        for entry in sorted(entries, key=lambda entry: entry.header_offset):
            stream.seek(entry.header_offset)
            header = stream.read(30)
            if len(header) < 30 or header[:4] != b"PK\x03\x04" or entry.header_offset < reached:
                raise UnusableFile("bad-zip", "The zip file's entries lie over one another; honest archives' do not.")
            lengths = int.from_bytes(header[26:28], "little") + int.from_bytes(header[28:30], "little")
            reached = entry.header_offset + 30 + lengths + entry.compress_size
    if reached > end:
        raise UnusableFile("bad-zip", "The zip file's entries reach beyond its end; copy it again.")


def require_picture(head: bytes, offered: Offered) -> str:
    """The kind of picture by its first bytes.

    Raises:
        NotTaken: it is none, or a zip file inside a zip file.
    """
    kind = detect_file_type(head[:HEAD_BYTES])
    if kind == "zip":
        if offered.archive:
            raise UnusableFile("nested-zip", "This is a zip file inside a zip file; unpack the outer one first.")
        raise UnusableFile("not-a-picture", "The file changed while it was being read; take it in again.")
    return kind


def _refused(path: str, reason: str, message: str) -> Refused:
    return Refused(make_printable_path(path), reason, message)
