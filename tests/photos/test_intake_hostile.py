"""Everything that is no honest photo is turned away with its reason, and the rest goes in."""

from __future__ import annotations

import io
import os
import random
import stat
import struct
import sys
import zipfile
import zlib
from pathlib import Path

import photo_factory as make
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from intake_results import ends, photo, whole

from survey.photos import decode_child, intake, metadata, pictures, sources
from survey.photos.decode import Image
from survey.photos.file_type import HEAD_BYTES, REASONS, SUFFIXES, UnusableFile, detect_file_type

pytestmark = [pytest.mark.filterwarnings("ignore::UserWarning:PIL"), pytest.mark.usefixtures("no_child_is_left")]


FILM = b"\x00\x00\x00\x18ftypqt  \x00\x00\x02\x00qt  isom" + bytes(500)
NASTY: dict[str, tuple[bytes, str]] = {
    "empty.jpg": (b"", "empty"),
    "note.txt": (b"bring the tin of clips", "not-a-picture"),
    "page.jpg": (b"<html><body>404</body></html>", "not-a-picture"),
    ".DS_Store": (b"\x00\x00\x00\x01Bud1" + bytes(100), "not-a-picture"),
    "Thumbs.db": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(100), "not-a-picture"),
    "._IMG_1.jpg": (b"\x00\x05\x16\x07\x00\x02\x00\x00" + bytes(100), "not-a-picture"),
    "IMG_1.AAE": (b"<?xml version='1.0'?><plist/>", "not-a-picture"),
    "IMG_1.MOV": (FILM, "video"),
    "clip.mp4": (b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom", "video"),
    "clip.webm": (b"\x1aE\xdf\xa3" + bytes(50), "video"),
    "clip.avi": (b"RIFF\x00\x00\x00\x00AVI LIST", "video"),
    "old.mov": (b"\x00\x00\x00\x08wide\x00\x00\x00\x00mdat", "video"),
    "cat.gif": (b"GIF89a" + bytes(50), "unsupported-format"),
    "scan.pdf.jpg": (b"%PDF-1.7" + bytes(50), "unsupported-format"),
    "eps.jpg": (b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 1 1\n", "unsupported-format"),
    "dos-eps.jpg": (b"\xc5\xd0\xd3\xc6" + bytes(50), "unsupported-format"),
    "image.bmp": (b"BM" + bytes(50), "unsupported-format"),
    "image.jp2": (b"\x00\x00\x00\x0cjP  \r\n\x87\n", "unsupported-format"),
    "image.jxl": (b"\xff\x0a" + bytes(50), "unsupported-format"),
    "raw.cr2": (b"II*\x00\x10\x00\x00\x00CR\x02\x00" + bytes(50), "unsupported-format"),
    "raw.cr3": (b"\x00\x00\x00\x18ftypcrx \x00\x00\x00\x01crx isom", "unsupported-format"),
    "raw.dng": (make.raw_tiff(), "unsupported-format"),
    "box.7z": (b"7z\xbc\xaf\x27\x1c" + bytes(50), "unsupported-format"),
    "box.tar.gz": (b"\x1f\x8b\x08" + bytes(50), "unsupported-format"),
    "noise.jpg": (b"\xff\xd8\xff\xe0" + bytes(range(256)) * 8, "damaged"),
    "half.jpg": (make.picture(image=make.textured(400, 300))[:9000], "damaged"),
    "half.png": (make.picture("PNG")[:400], "damaged"),
    "half.heic": (make.picture("HEIF", make.textured(256, 256))[:900], "damaged"),
    "half.avif": (make.picture("AVIF", make.textured(256, 256))[:900], "damaged"),
    "half.webp": (make.picture("WEBP", make.textured(256, 256))[:900], "damaged"),
    "half.tif": (make.picture("TIFF", make.textured(256, 256))[:900], "damaged"),
    "giant.jpg": (make.claiming(make.picture(), 16000, 11000), "damaged"),  # 176 megapixels on a tiny body
    "giant-claim.jpg": (make.claiming(make.picture(), 65500, 65500), "too-large"),
    "giant.png": (make.png_header_only(10_000, 10_000), "too-large"),
    "huge.png": (make.png_header_only(100_000, 100_000), "too-large"),
    "notes.png": (make.png_text_bomb(), "damaged"),
    "broken.zip": (b"PK\x03\x04" + bytes(100), "bad-zip"),
    "nothing.zip": (b"PK\x05\x06" + bytes(18), "empty"),
}


def test_each_nasty_file_has_its_reason_and_the_rest_goes_in(folder: Path, tmp_path: Path) -> None:
    phone = tmp_path / "phone"
    phone.mkdir()
    for name, (data, _) in NASTY.items():
        (phone / name).write_bytes(data)
    for number in range(4):
        (phone / f"good {number}.jpg").write_bytes(photo(number))
    ledger = make.Memory()
    found = ends(intake.run_intake(folder, [phone], ledger))
    expected = {name: reason for name, (_, reason) in NASTY.items()} | {
        f"good {number}.jpg": "added" for number in range(4)
    }
    assert found == expected
    whole(folder, ledger)


def test_pictures_that_swell(folder: Path, tmp_path: Path) -> None:
    phone = tmp_path / "phone"
    phone.mkdir()
    flat = make.Image.new("L", (10_000, 10_000))
    (phone / "flat.png").write_bytes(make.picture("PNG", flat))
    (phone / "flat.tif").write_bytes(make.picture("TIFF", flat, compression="tiff_deflate"))
    (phone / "good.jpg").write_bytes(photo(1))
    assert ends(intake.run_intake(folder, [phone], make.Memory())) == {
        "flat.png": "too-large", "flat.tif": "too-large", "good.jpg": "added",
    }  # fmt: skip


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with names")
def test_pipes_devices_and_links(folder: Path, tmp_path: Path) -> None:
    phone, elsewhere = tmp_path / "phone", tmp_path / "elsewhere"
    (phone / "inner").mkdir(parents=True)
    elsewhere.mkdir()
    (elsewhere / "secret.jpg").write_bytes(photo(9))
    (phone / "good.jpg").write_bytes(photo(1))
    os.mkfifo(phone / "pipe.jpg")
    (phone / "zero.jpg").symlink_to("/dev/zero")
    (phone / "out.jpg").symlink_to(elsewhere / "secret.jpg")
    (phone / "outdir").symlink_to(elsewhere)
    (phone / "gone.jpg").symlink_to(phone / "nowhere.jpg")
    (phone / "in.jpg").symlink_to(phone / "good.jpg")
    (phone / "inner" / "loop").symlink_to(phone)
    found = ends(intake.run_intake(folder, [phone], make.Memory()))
    assert found == {
        "good.jpg": "added", "in.jpg": "already", "pipe.jpg": "not-a-regular-file", "zero.jpg": "outside",
        "out.jpg": "outside", "outdir": "outside", "gone.jpg": "unreadable",
    }  # fmt: skip
    named = ends(intake.run_intake(folder, [phone / "out.jpg", phone / "pipe.jpg", Path("/dev/zero")], make.Memory()))
    assert named == {"out.jpg": "added", "pipe.jpg": "not-a-regular-file", "zero": "not-a-regular-file"}


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="such names cannot be given here")
def test_odd_names_are_taken_and_shown_safely(folder: Path, tmp_path: Path) -> None:
    phone = tmp_path / "phone"
    phone.mkdir()
    names = [
        b"caf\xe9.jpg",
        b"two\nlines.jpg",
        b"\x1b[31mred.jpg",
        "Müller 🏍.jpg".encode(),
        b"CON.jpg",
        b"a" * 250 + b".jpg",
    ]
    names += ["\u202egpj.exe".encode(), b"-rf.jpg", b"$(id).jpg", b"<script>.jpg", b"NUL", b" .jpg"]
    for number, name in enumerate(names):
        (phone / os.fsdecode(name)).write_bytes(photo(number))
    ledger = make.Memory()
    result = intake.run_intake(folder, [phone], ledger)
    assert len(result.added) == len(names)
    shown = {one.name for one in ledger.arrivals}
    assert {"caf\\xe9.jpg", "two\\x0alines.jpg", "\\x1b[31mred.jpg", "Müller 🏍.jpg", "\\u202egpj.exe"} <= shown
    for one in (*result.added, *ledger.arrivals):
        text = one.path + getattr(one, "source", "") + getattr(one, "name", "")
        text.encode("utf-8")  # can be stored and printed
        assert not any(ord(letter) < 32 for letter in text)
    whole(folder, ledger)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read everything")
def test_what_may_not_be_read_is_told(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "locked.jpg").write_bytes(photo(1))
    (tmp_path / "locked.jpg").chmod(0)
    assert ends(intake.run_intake(folder, [tmp_path / "locked.jpg"], make.Memory())) == {"locked.jpg": "unreadable"}


def test_folders_that_programs_keep_are_named_once(folder: Path, tmp_path: Path) -> None:
    phone = tmp_path / "phone"
    for name in (".thumbnails", "@eaDir", "box"):
        (phone / name).mkdir(parents=True)
        for number in range(3):
            (phone / name / f"{name}{number}.jpg").write_bytes(photo(number))
    found = ends(intake.run_intake(folder, [phone], make.Memory()))
    assert found[".thumbnails"] == found["@eaDir"] == "hidden-folder"
    assert len(found) == 5
    ledger = make.Memory()
    intake.run_intake(folder, [phone / ".thumbnails"], ledger)  # named itself, it is walked
    assert len(ledger.arrivals) == 3


def test_a_file_that_vanishes_or_grows_too_large(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    phone = tmp_path / "phone"
    phone.mkdir()
    for number in range(3):
        (phone / f"{number}.jpg").write_bytes(photo(number) + bytes(number * 20_000))
    offers = list(sources.walk_sources([phone], folder))
    (phone / "0.jpg").unlink()
    monkeypatch.setattr(intake, "walk_sources", lambda *_: iter(offers))
    monkeypatch.setattr("survey.photos.staging.FILE_BYTES", 30_000)
    found = ends(intake.run_intake(folder, [phone], make.Memory()))
    assert found == {"0.jpg": "unreadable", "1.jpg": "added", "2.jpg": "too-large"}


# Zip files. The format: PKWARE APPNOTE.TXT 6.3.10; sections named beside each.


def zip_of(tmp_path: Path, entries: list[tuple[zipfile.ZipInfo | str, bytes]], name: str = "box.zip") -> Path:
    path = tmp_path / name
    with zipfile.ZipFile(path, "w") as archive:
        for entry, data in entries:
            archive.writestr(entry, data)
    return path


def entry(name: str, mode: int = stat.S_IFREG | 0o644, method: int = zipfile.ZIP_STORED) -> zipfile.ZipInfo:
    made = zipfile.ZipInfo(name, (2024, 5, 1, 12, 30, 8))
    made.external_attr = mode << 16
    made.compress_type = method
    return made


def test_a_zip_files_time_that_cannot_be_is_no_time(folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "box.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for number, when in enumerate([(1980, 1, 1, 0, 0, 0), (2107, 12, 31, 23, 59, 58), (2024, 5, 1, 12, 30, 8)]):
            archive.writestr(zipfile.ZipInfo(f"{number}.jpg", when), photo(number))
    ledger = make.Memory()
    intake.run_intake(folder, [path], ledger)
    assert [(one.taken, one.taken_from) for one in ledger.arrivals] == [
        (None, None), (None, None), ("2024-05-01T12:30:08", "file")
    ]  # fmt: skip
    for one in ledger.arrivals[:2]:  # so that the hour of intake is not taken for it when one is adopted later
        assert metadata.file_time((folder / one.path).stat().st_mtime) is None


@pytest.mark.parametrize("method", [zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_zip_file_damaged_anywhere_stops_nothing(folder: Path, tmp_path: Path, method: int) -> None:
    """Each way of packing has its own fault for bytes it cannot read; the files beside it go in all the same."""
    path = zip_of(tmp_path, [(entry("a.jpg", method=method), photo(1)), (entry("b.jpg", method=method), photo(2))])
    good, dice, ledger = path.read_bytes(), random.Random(method), make.Memory()
    beside = tmp_path / "beside.jpg"
    beside.write_bytes(photo(3))
    first = ends(intake.run_intake(folder, [path, beside], ledger))
    assert first == {"a.jpg": "added", "b.jpg": "added", "beside.jpg": "added"}
    for size in (1, 1, 3, 10, 40) * 6:
        damaged = bytearray(good)
        for at in (dice.randrange(len(good)) for _ in range(size)):
            damaged[at] = dice.randrange(256)
        path.write_bytes(damaged)
        assert ends(intake.run_intake(folder, [path, beside], ledger))["beside.jpg"] == "already"
    whole(folder, ledger)


def test_a_zip_files_entries_each_get_their_reason(folder: Path, tmp_path: Path) -> None:
    inner = io.BytesIO()
    with zipfile.ZipFile(inner, "w") as archive:
        archive.writestr("a.jpg", photo(1))
    path = zip_of(
        tmp_path,
        [
            (entry("good.jpg"), photo(1)),
            (entry("deep/er/packed.jpg", method=zipfile.ZIP_DEFLATED), photo(2)),
            (entry("../escape.jpg"), photo(3)),
            (entry("/absolute.jpg"), photo(4)),
            (entry("C:/drive.jpg"), photo(5)),
            (entry("a/..\\..\\back.jpg"), photo(6)),
            (entry("link.jpg", stat.S_IFLNK | 0o777), b"/etc/passwd"),
            (entry("pipe.jpg", stat.S_IFIFO | 0o644), b""),
            (entry("inner.zip"), inner.getvalue()),
            (entry("swell.png", method=zipfile.ZIP_DEFLATED), b"\x89PNG\r\n\x1a\n" + bytes(30_000_000)),
            (entry("film.mov"), FILM),
            (entry("empty.jpg"), b""),
            (entry("__MACOSX/._good.jpg"), b"\x00\x05\x16\x07"),
            (entry("same name.jpg"), photo(7)),
        ],
    )
    ledger = make.Memory()
    result = intake.run_intake(folder, [path], ledger)
    found = {one.path.removeprefix(f"{path}/"): one.reason for one in result.refused}
    assert found == {
        "../escape.jpg": "outside", "/absolute.jpg": "outside", "C:/drive.jpg": "outside",
        "a/..\\..\\back.jpg": "outside", "link.jpg": "not-a-regular-file", "pipe.jpg": "not-a-regular-file",
        "inner.zip": "nested-zip", "swell.png": "zip-bomb", "film.mov": "video", "empty.jpg": "empty",
        "__MACOSX/._good.jpg": "not-a-picture",
    }  # fmt: skip
    assert {one.name for one in ledger.arrivals} == {"good.jpg", "packed.jpg", "same name.jpg"}
    assert all((one.taken, one.taken_from) == ("2024-05-01T12:30:08", "file") for one in ledger.arrivals)
    assert not (tmp_path / "escape.jpg").exists()
    whole(folder, ledger)


def test_a_locked_entry_is_told(folder: Path, tmp_path: Path) -> None:
    path = zip_of(tmp_path, [("locked.jpg", photo(1)), ("open.jpg", photo(2))])
    data = bytearray(path.read_bytes())
    data[6] |= 1  # 4.4.4: bit 0 of the general purpose flag, in the local header ...
    data[data.index(b"PK\x01\x02") + 8] |= 1  # ... and in the central directory
    path.write_bytes(data)
    assert ends(intake.run_intake(folder, [path], make.Memory())) == {"locked.jpg": "encrypted", "open.jpg": "added"}


def test_an_entry_that_lies_about_its_size_or_sum(folder: Path, tmp_path: Path) -> None:
    for lie in ("size", "sum"):
        path = zip_of(tmp_path, [("liar.jpg", photo(1)), ("open.jpg", photo(2))])
        data = bytearray(path.read_bytes())
        at = data.index(b"PK\x01\x02")
        if lie == "size":  # 4.4.9: the uncompressed size
            data[at + 24 : at + 28] = struct.pack("<I", 600)
        else:  # 4.4.7: the CRC-32
            data[at + 16 : at + 20] = struct.pack("<I", zlib.crc32(b"something else"))
        path.write_bytes(data)
        assert ends(intake.run_intake(folder, [path], make.Memory()))["liar.jpg"] == "damaged"


def test_entries_that_lie_over_one_another_are_refused_whole(folder: Path, tmp_path: Path) -> None:
    path = zip_of(tmp_path, [("a.jpg", photo(1)), ("b.jpg", photo(2))])
    data = bytearray(path.read_bytes())
    second = data.index(b"PK\x01\x02", data.index(b"PK\x01\x02") + 4)
    data[second + 42 : second + 46] = bytes(4)  # 4.4.16: both entries now begin at the same local header
    path.write_bytes(data)
    assert ends(intake.run_intake(folder, [path], make.Memory())) == {"box.zip": "bad-zip"}


@pytest.mark.parametrize("kept", [0.3, 0.9, 0.999])
def test_a_zip_file_that_was_cut_off(kept: float, folder: Path, tmp_path: Path) -> None:
    path = zip_of(tmp_path, [(f"{number}.jpg", photo(number)) for number in range(4)])
    path.write_bytes(path.read_bytes()[: int(path.stat().st_size * kept)])
    assert ends(intake.run_intake(folder, [path], make.Memory())) == {"box.zip": "bad-zip"}


def test_too_much_in_one_zip_file(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = zip_of(tmp_path, [(f"{number}.jpg", photo(number)) for number in range(4)])
    monkeypatch.setattr(sources, "ZIP_BYTES", 10_000)
    assert ends(intake.run_intake(folder, [path], make.Memory())) == {"box.zip": "zip-bomb"}
    monkeypatch.undo()
    monkeypatch.setattr(sources, "ZIP_ENTRIES", 3)
    assert ends(intake.run_intake(folder, [path], make.Memory())) == {"box.zip": "zip-bomb"}


def test_a_zip_file_is_closed_when_its_last_entry_was_read(folder: Path, tmp_path: Path) -> None:
    path = zip_of(tmp_path, [("a.jpg", photo(1)), ("b.txt", b"words"), ("../c.jpg", photo(2))])
    offers = [one for one in sources.walk_sources([path], folder) if isinstance(one, sources.Offered)]
    for one in offers:
        with one.opened() as stream:
            stream.read(1)
    archive = offers[0].archive
    assert archive
    assert archive._zip is None


# The child that decodes what is not a plain JPEG.


def test_a_child_that_dies_costs_one_photo(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.png"
    path.write_bytes(make.picture("PNG"))
    decoder = decode_child.Decoder()
    pool = decode_child.DecoderPool()
    monkeypatch.setattr(decode_child, "POOL", pool)
    assert pictures.decode_safely(path).format == "png"
    pool._idle.queue[0]._child.kill()
    pool._idle.queue[0]._child.wait()
    assert pictures.decode_safely(path).format == "png"  # a new one has taken its place
    decoder._child.kill()
    with pytest.raises(UnusableFile) as said:
        decoder.ask({"path": str(path)})
    assert said.value.reason == "damaged"
    assert not decoder.alive
    pool.close()
    decoder.close()


def test_a_child_that_takes_too_long_is_ended(tmp_path: Path) -> None:
    path = tmp_path / "slow.png"
    path.write_bytes(make.picture("PNG", make.textured(3000, 2000)))
    decoder = decode_child.Decoder(seconds=0.01)
    with pytest.raises(UnusableFile) as said:
        decoder.ask({"path": str(path)})
    assert said.value.reason == "too-large"
    decoder.close()


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux holds a process to its memory")
def test_a_child_is_held_to_its_memory(tmp_path: Path) -> None:
    path = tmp_path / "large.png"
    path.write_bytes(make.picture("PNG", make.Image.new("RGB", (7000, 7000)), compress_level=1))
    decoder = decode_child.Decoder(memory_bytes=200 << 20)
    with pytest.raises(UnusableFile) as said:
        decoder.ask({"path": str(path)})
    assert said.value.reason == "too-large"
    decoder.close()


def test_the_decoder_is_told_from_the_content_alone() -> None:
    assert detect_file_type(b"\xff\xd8\xff\xe0") == "jpeg"
    for data, _ in NASTY.values():
        try:
            assert detect_file_type(data[:HEAD_BYTES]) in {*SUFFIXES, "zip"}
        except UnusableFile as refusal:
            assert refusal.reason in REASONS


@settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_mutated_files_end_with_a_reason_or_a_picture(tmp_path: Path, data: st.DataObject) -> None:
    whole_file = data.draw(st.sampled_from(MUTABLE))
    changed = bytearray(whole_file)
    for _ in range(data.draw(st.integers(1, 8))):
        changed[data.draw(st.integers(0, len(changed) - 1))] = data.draw(st.integers(0, 255))
    del changed[data.draw(st.integers(len(changed) // 2, len(changed))) :]
    path = tmp_path / "mutated"
    path.write_bytes(changed)
    try:
        developed = pictures.decode_safely(path)
    except UnusableFile as refusal:
        assert refusal.reason in REASONS
    else:
        assert developed.width > 0 and developed.height > 0
        assert Image.open(io.BytesIO(developed.thumb)).format == "JPEG"


MUTABLE = [
    make.picture(exif=make.exif(original="2024:05:01 17:20:03", position=True)),
    make.mpo(),
    make.picture(progressive=True),
    make.picture("PNG"),
    make.picture("WEBP"),
    make.picture("TIFF"),
    make.picture("HEIF"),
    make.picture("AVIF"),
]
