"""What a photo says of itself, against ExifRead as second reader; meaning of the tags as CIPA DC-008 (Exif) has it."""

from __future__ import annotations

import io
import os
import time
from datetime import datetime, timedelta
from pathlib import Path

import exifread
import photo_factory as make
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from survey.photos import metadata, pictures
from survey.photos.metadata import PhotoMetadata

pytestmark = pytest.mark.filterwarnings("ignore::UserWarning:PIL")


def facts(data: bytes, tmp_path: Path) -> PhotoMetadata:
    path = tmp_path / "photo"
    path.write_bytes(data)
    return pictures.decode_safely(path).facts


def second_reader(data: bytes) -> dict[str, str]:
    return {name: str(tag) for name, tag in exifread.process_file(io.BytesIO(data), details=False).items()}


def test_a_phone_photo_is_read_as_the_second_reader_reads_it(tmp_path: Path) -> None:
    block = make.exif(
        original="2024:05:01 17:20:03", offset="+02:00", make="Invented Optics", model="Pocket 3", position=True
    )
    data = make.picture(exif=block)
    other = second_reader(data)
    found = facts(data, tmp_path)
    assert found == PhotoMetadata("2024-05-01T17:20:03", "original", "+02:00", "Invented Optics", "Pocket 3", True)
    assert other["EXIF DateTimeOriginal"] == "2024:05:01 17:20:03"
    assert other["EXIF OffsetTimeOriginal"] == found.offset
    assert (other["Image Make"], other["Image Model"]) == (found.make, found.model)
    assert {"GPS GPSLatitude", "GPS GPSLongitude"} <= set(other)


@pytest.mark.parametrize(
    ("tags", "taken", "taken_from"),
    [
        ({"original": "2024:05:01 10:00:00", "digitized": "2024:06:01 10:00:00"}, "2024-05-01T10:00:00", "original"),
        ({"original": "0000:00:00 00:00:00", "digitized": "2024:06:01 10:00:00"}, "2024-06-01T10:00:00", "digitized"),
        ({"digitized": "2024:06:01 10:00:00", "edited": "2025:01:01 10:00:00"}, "2024-06-01T10:00:00", "digitized"),
        # CIPA DC-008: DateTime is when the file was last changed, never when the picture was taken.
        ({"edited": "2025:01:01 10:00:00"}, None, None),
        ({}, None, None),
    ],
)
def test_the_order_of_the_times(
    tags: dict[str, str], taken: str | None, taken_from: str | None, tmp_path: Path
) -> None:
    found = facts(make.picture(exif=make.exif(**tags)), tmp_path)
    assert (found.taken, found.taken_from) == (taken, taken_from)


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("2024:05:01 17:20:03", "2024-05-01T17:20:03"),
        ("2024-05-01 17:20:03", "2024-05-01T17:20:03"),
        ("2024-05-01T17:20:03", "2024-05-01T17:20:03"),
        ("2024:05:01 17:20:03\0\0garbage", "2024-05-01T17:20:03"),
        ("2024:05:01 17:20:03.417", "2024-05-01T17:20:03"),
        (" 2024:05:01 17:20:03 ", "2024-05-01T17:20:03"),
        ("2024:02:29 00:00:00", "2024-02-29T00:00:00"),
        ("2023:02:29 00:00:00", None),
        ("2024:02:30 12:00:00", None),
        ("2024:13:01 12:00:00", None),
        ("2024:05:01 24:00:00", None),
        ("2024:05:01 17:20:61", None),
        ("0000:00:00 00:00:00", None),
        ("0001:01:01 00:00:00", None),
        ("    :  :     :  :  ", None),
        ("                   ", None),
        ("", None),
        ("2024:05:01", None),
        ("1714578003123", None),
        ("٢٠٢٤:٠٥:٠١ ١٧:٢٠:٠٣", None),
        (None, None),
        (12, None),
    ],
)
def test_a_time_that_cannot_be_is_no_time(written: object, read: str | None) -> None:
    assert metadata.clean_time(written) == read


@pytest.mark.parametrize("written", ["", "Z", "+2:00", "+0200", "+15:00", "+01:75", "   :  ", "UTC+02:00", None, 2])
def test_a_zone_is_never_made_up(written: object) -> None:
    assert metadata.clean_offset(written) is None


@pytest.mark.parametrize("written", ["+02:00", "-03:30", "+00:00", "+14:00", "-11:00\0"])
def test_a_zone_is_kept_as_written(written: str) -> None:
    assert metadata.clean_offset(written) == written.rstrip("\0")


def test_the_zone_belongs_to_its_own_time(tmp_path: Path) -> None:
    # CIPA DC-008: OffsetTimeOriginal is of DateTimeOriginal, OffsetTimeDigitized of DateTimeDigitized.
    block = make.exif(digitized="2024:06:01 10:00:00", offset="+02:00", offset_digitized="-05:00")
    assert facts(make.picture(exif=block), tmp_path).offset == "-05:00"
    assert facts(make.picture(exif=make.exif(original="2024:06:01 10:00:00")), tmp_path).offset is None


@pytest.mark.parametrize(
    ("written", "read"),
    [
        (b"Pocket\0rubbish", "Pocket"),
        ("Apparat Müller".encode(), "Apparat Müller"),
        ("Apparat Müller".encode("latin-1"), "Apparat Müller"),
        (b"  two\n words\x1b[31m ", "two words [31m"),
        ("left\u202etfel", "left tfel"),
        (b"x" * 5000, "x" * metadata.TEXT_LIMIT),
        (b"\0\0\0", ""),
        (None, ""),
        ((1, 2), ""),
    ],
)
def test_a_makers_name_is_made_plain(written: object, read: str) -> None:
    assert metadata.clean_text(written) == read


def test_utf8_in_an_ascii_tag_survives_pillow(tmp_path: Path) -> None:
    found = facts(make.picture(exif=make.exif(make="Müller & Söhne".encode())), tmp_path)
    assert found.make == "Müller & Söhne"


@given(st.one_of(st.text(), st.binary(), st.integers(), st.none(), st.floats()))
def test_nothing_a_camera_writes_breaks_the_cleaning(value: object) -> None:
    text = metadata.clean_text(value)
    assert len(text) <= metadata.TEXT_LIMIT
    assert text == text.strip() and text.isprintable()
    taken = metadata.clean_time(value)
    assert taken is None or time.strptime(taken, "%Y-%m-%dT%H:%M:%S")
    offset = metadata.clean_offset(value)
    assert offset is None or len(offset) == 6


def test_the_second_reader_finds_a_time_pillow_does_not() -> None:
    asked = []

    def second() -> PhotoMetadata:
        asked.append(True)
        return PhotoMetadata("2024-05-01T10:00:00", "original", None, "Second", "Reader", True)

    assert metadata.merge_metadata(PhotoMetadata(make="First"), second) == PhotoMetadata(
        "2024-05-01T10:00:00", "original", None, "First", "Reader", True
    )
    known = PhotoMetadata("2020-01-01T00:00:00", "original")
    assert metadata.merge_metadata(known, second) == known
    assert len(asked) == 1


def test_exifread_gives_the_same_facts_as_pillow() -> None:
    block = make.exif(original="2024:05:01 17:20:03", offset="+02:00", make="Müller".encode(), position=True)
    data = make.picture(exif=block)
    with Image.open(io.BytesIO(data)) as image:
        assert metadata.read_with_exifread(io.BytesIO(data)) == metadata.read_with_pillow(image)


def test_much_before_the_exif_block_does_not_hide_it(tmp_path: Path) -> None:
    data = make.picture(exif=make.exif(original="2024:05:01 17:20:03"))
    padded = make.with_segment(data, 0xEC, b"Ducky" + bytes(9000))
    assert facts(padded, tmp_path).taken == "2024-05-01T17:20:03"


@pytest.mark.parametrize("damage", ["cut", "flip", "loop"])
def test_a_broken_exif_block_refuses_no_photo(damage: str, tmp_path: Path) -> None:
    data = make.picture(exif=make.exif(original="2024:05:01 17:20:03", make="Invented", position=True))
    at = data.index(b"Exif\0\0") + 6
    broken = {
        "cut": data[:at] + b"MM\0*\xff\xff\xff\xff" + data[at + 8 :],
        "flip": data[: at + 8] + b"\xff\xff" + data[at + 10 :],
        "loop": data[: at + 4] + b"\0\0\0\x04" + data[at + 8 :],
    }[damage]
    found = facts(broken, tmp_path)
    assert found.taken is None or found.taken == "2024-05-01T17:20:03"


def test_a_position_without_a_fix_is_none(tmp_path: Path) -> None:
    block = make.exif(position=True)
    block.get_ifd(make.GPS_IFD)[2] = tuple(make.IFDRational(0, 0) for _ in range(3))
    assert facts(make.picture(exif=block), tmp_path).has_position is False
    assert facts(make.picture(exif=make.exif(position=True)), tmp_path).has_position is True


def test_a_position_in_xmp_counts(tmp_path: Path) -> None:
    xmp = b'http://ns.adobe.com/xap/1.0/\0<x:xmpmeta><r exif:GPSLatitude="51,28.6N"/></x:xmpmeta>'
    assert facts(make.with_segment(make.picture(), 0xE1, xmp), tmp_path).has_position is True


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "TIFF", "HEIF", "AVIF", "MPO"])
def test_every_kind_of_file_gives_its_time(kind: str, tmp_path: Path) -> None:
    found = facts(make.picture(kind, exif=make.exif(original="2024:05:01 17:20:03", offset="+02:00")), tmp_path)
    assert (found.taken, found.taken_from, found.offset) == ("2024-05-01T17:20:03", "original", "+02:00")


def test_a_files_time_is_local_and_never_an_unset_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "UTC-03:00")  # POSIX: three hours east of Greenwich
    if hasattr(time, "tzset"):
        time.tzset()
        assert metadata.file_time(1_714_578_003.9) == "2024-05-01T18:40:03"
        monkeypatch.undo()
        os.environ.get("TZ")
        time.tzset()
    assert metadata.file_time(0) is None
    assert metadata.file_time(float("inf")) is None


@pytest.mark.parametrize(
    "when", [datetime(1980, 1, 1), datetime(1980, 1, 1, 8), datetime(2107, 12, 31, 23, 59, 58), datetime(1979, 11, 30)]
)
def test_a_time_that_no_photo_can_have_is_none(when: datetime) -> None:
    """A zip file's clock begins at 1980-01-01, which stands for "not set", and ends with 2107 (APPNOTE.TXT 4.4.6)."""
    assert metadata.file_time(when.timestamp()) is None
    soon = datetime.now() + timedelta(hours=10)
    assert metadata.file_time(soon.timestamp()) == soon.replace(microsecond=0).isoformat()
