"""CSV and JSON of the report, its letters, and pictures without metadata."""

from __future__ import annotations

import csv
import io
import json
import struct
import unicodedata
from collections import Counter
from dataclasses import asdict
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from paper_ferryman import CRACK_RULE, HOSTILE, ferryman, graded, gradient_pictures
from PIL import Image

from survey.document.files import write_whole
from survey.document.jpeg import strip_jpeg
from survey.document.printable import covered, make_printable
from survey.errors import BadValue, CannotWrite
from survey.model.machine import Machine
from survey.model.parts import Part
from survey.report.contents_printed import ReportData
from survey.report.files import write_html, write_json
from survey.report.gather_printed import gather_report
from survey.report.table_files import COLUMNS, write_csv


@pytest.fixture(scope="module")
def data() -> ReportData:
    return gather_report(ferryman())


def written(data: ReportData, folder: Path) -> str:
    write_csv(data, folder / "r.csv")
    return (folder / "r.csv").read_bytes().decode("utf-8")


def rows(text: str) -> list[dict[str, str]]:
    found = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert {len(row) for row in found} == {len(COLUMNS)}, "RFC 4180, 2.4: the same number of fields in every line"
    assert tuple(found[0]) == COLUMNS
    return [dict(zip(COLUMNS, row, strict=True)) for row in found[1:]]


def test_a_name_cut_on_paper_is_whole_in_the_table(tmp_path: Path) -> None:
    own = "a strange lug " * 20
    text = written(gather_report(ferryman(graded=(graded(Part(1, None, own), None, (CRACK_RULE,)),))), tmp_path)
    assert own in [row["label"] for row in rows(text)]


# --- RFC 4180


def test_lines_end_in_crlf_and_fields_are_quoted_where_they_must_be(data: ReportData, tmp_path: Path) -> None:
    """RFC 4180, 2.1, 2.6 and 2.7."""
    text = written(data, tmp_path)
    assert text.endswith("\r\n")
    assert not text.startswith("\ufeff")
    for line in rows(text):
        for cell in line.values():
            if any(letter in cell for letter in ',"\r\n'):
                assert '"' + cell.replace('"', '""') + '"' in text


def test_every_part_and_gap_has_its_line(data: ReportData, tmp_path: Path) -> None:
    found = rows(written(data, tmp_path))
    assert [line["part"] for line in found if line["row"] == "part"] == [str(part.id) for part in data.parts]
    assert [line["component"] for line in found if line["row"] == "gap"] == [gap.component for gap in data.gaps]
    bar = next(line for line in found if line["part"] == "3")
    assert (bar["grade"], bar["own_grade"], bar["rules"]) == ("replace", "repair", "crack-load-path-safety")
    assert "Do not weld" in bar["caution"]
    spokes = next(line for line in found if line["row"] == "gap" and line["component"] == "B070")
    assert (spokes["in_hand"], spokes["wanted"], spokes["state"]) == ("33", "36", "short")


def test_the_record_and_what_it_is_not_come_with_it(data: ReportData, tmp_path: Path) -> None:
    found = rows(written(data, tmp_path))
    about = {line["label"]: line["note"] for line in found if line["row"] == "about"}
    assert about["rules version"] == "1 of 2026-11"
    assert about["number, frame, headstock left"] == "HP 147* 00831 (the star is stamped)"
    assert any("not an engineer's inspection" in line["note"] for line in found)
    assert [line["label"] for line in found if line["row"] == "not-fitted"] == ["Sidecar lug"]
    assert len([line for line in found if line["row"] == "caution"]) == len(data.cautions)


def test_no_cell_is_a_formula(data: ReportData, tmp_path: Path) -> None:
    found = rows(written(data, tmp_path))
    for line in found:
        for cell in line.values():
            assert not cell.lstrip().startswith(("=", "+", "-", "@"))
            assert not cell.startswith(("\t", "\r", "\n"))
    odd = next(line for line in found if line["part"] == "10")
    assert odd["label"] == "'" + HOSTILE
    assert odd["box"] == "'=cmd|' /C calc'!A0"


@settings(deadline=None)  # it writes to a disk that others may be using
@given(st.text(alphabet=st.characters(exclude_categories=["Cs"]) | st.sampled_from('=+-@\t\r\n",'), min_size=1))
def test_any_words_survive_and_none_become_a_formula(words: str) -> None:
    import tempfile

    source = ferryman(machine=Machine("M", "lightweight", note=words), graded=(), gaps=())
    with tempfile.TemporaryDirectory() as name:
        text = written(gather_report(source), Path(name))
    note = next(line["note"] for line in rows(text) if line["row"] == "about" and line["label"] == "note")
    assert note.removeprefix("'") == words or note == words
    assert not note.startswith(("=", "+", "-", "@", "\t", "\r"))


# --- JSON


def test_json_holds_the_whole_report(data: ReportData, tmp_path: Path) -> None:
    write_json(data, tmp_path / "r.json")
    read = json.loads((tmp_path / "r.json").read_bytes())
    assert read.pop("report") == "Condition report: Ferryman from the dairy"
    assert read == json.loads(json.dumps(asdict(data)))
    assert "Invented Phone Co" not in json.dumps(read)
    assert "IMG_" not in json.dumps(read)


def test_totals_agree_between_all_papers(data: ReportData, tmp_path: Path) -> None:
    write_json(data, tmp_path / "r.json")
    read = json.loads((tmp_path / "r.json").read_text(encoding="utf-8"))
    in_json = {count["outcome"]: count["parts"] for count in read["summary"]["counts"] if count["parts"]}
    found = rows(written(data, tmp_path))
    in_csv = Counter(line["grade"] or line["waiting"] for line in found if line["row"] == "part")
    assert in_json == in_csv == Counter(part.outcome for part in data.parts)
    gone = Counter(line["state"] for line in found if line["row"] == "gap")
    tally = read["summary"]["tally"]
    assert gone == Counter({"missing": 3, "not-looked": 2, "wrong": 1, "short": 1, "unseen": 1})
    assert [tally[state] for state in ("missing", "wrong", "short", "unseen", "not_looked")] == [3, 1, 1, 1, 2]
    write_html(data, gradient_pictures(), tmp_path / "r.html")
    page = (tmp_path / "r.html").read_text(encoding="utf-8")
    assert page.count('<article class="part') == read["summary"]["parts"] == len(data.parts)


# --- a file in its place


def test_what_stood_there_stands_when_writing_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "r.csv"
    target.write_text("old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(CannotWrite, match="No space left"):
        write_whole(target, b"new")
    assert target.read_text() == "old"
    assert [one.name for one in tmp_path.iterdir()] == ["r.csv"]


# --- letters


def test_plain_words_stay_as_they_are() -> None:
    for words in ("Frame, left", "½ in × 26 tpi, 60° – “sound”", "Łódź Жук Ωmega", "a\nb"):
        assert make_printable(words) == words


def test_what_has_no_letter_becomes_a_square_and_what_is_no_letter_goes() -> None:
    assert make_printable("中") == "□"
    assert make_printable("a\x07b\u202ec\u200d\ufe0f\tx\r\ny") == "abc x\ny"
    assert make_printable("e\u0301") == "é"
    assert make_printable("a\u2028b\u3000c") == "a\nb c"


@given(st.text())
def test_whatever_comes_out_can_be_printed(words: str) -> None:
    out = make_printable(words)
    assert all(letter == "\n" or ord(letter) in covered() or letter.isascii() for letter in out)
    assert make_printable(out) == out


def test_the_letters_of_europe_are_there() -> None:
    """ISO 8859-1, -2, -5 and -7: western, central European, Cyrillic and Greek."""
    for part in (1, 2, 5, 7):
        for byte in range(0xA1, 0x100):
            letter = bytes([byte]).decode(f"iso8859-{part}", "ignore")
            if letter and unicodedata.category(letter) != "Cf":
                assert ord(letter) in covered(), (part, letter)


# --- pictures without metadata


def jpeg(**save: object) -> bytes:
    out = io.BytesIO()
    Image.effect_noise((64, 48), 60).convert("RGB").save(out, "JPEG", **save)  # type: ignore[arg-type]
    return out.getvalue()


def pixels(content: bytes) -> bytes:
    with Image.open(io.BytesIO(content)) as opened:
        return opened.tobytes()


@pytest.mark.parametrize("progressive", [False, True])
def test_position_camera_and_comment_go_and_the_picture_stays(progressive: bool) -> None:
    exif = Image.Exif()
    exif[0x010F] = "SECRET-CAMERA"
    exif.get_ifd(0x8825)[1] = "N"
    full = jpeg(exif=exif, comment=b"SECRET-COMMENT", xmp=b"<x>SECRET-XMP</x>", progressive=progressive)
    assert full.count(b"SECRET") == 3
    bare = strip_jpeg(full)
    assert b"SECRET" not in bare
    assert b"Exif" not in bare
    assert pixels(bare) == pixels(full)
    assert strip_jpeg(bare) == bare


def test_a_colour_profile_stays() -> None:
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    with Image.open(io.BytesIO(strip_jpeg(jpeg(icc_profile=profile)))) as opened:
        assert opened.info["icc_profile"] == profile


def test_what_hangs_behind_the_picture_goes() -> None:
    plain = jpeg()
    assert strip_jpeg(plain + b"ftypmp42 SECRET film\xff\xd9") == strip_jpeg(plain)


def test_a_second_picture_index_goes() -> None:
    """APP2 with an MPF index (CIPA DC-007) is no colour profile."""
    plain = jpeg()
    index = b"MPF\x00SECRET"
    full = plain[:2] + b"\xff\xe2" + struct.pack(">H", len(index) + 2) + index + plain[2:]
    assert b"SECRET" not in strip_jpeg(full)


@pytest.mark.parametrize("content", [b"", b"\x89PNG\r\n", b"\xff\xd8\xff", jpeg()[:400], jpeg()[:-2]])
def test_what_is_no_whole_jpeg_is_refused(content: bytes) -> None:
    with pytest.raises(BadValue):
        strip_jpeg(content)


def test_own_label_stands_beside_the_schedules(data: ReportData) -> None:
    assert [part.label for part in data.parts if part.id == 11] == ["Parcel carrier (with the dairy's name)"]
    nameless = ferryman(graded=tuple(g for g in ferryman().graded if g.part.id == 10))
    (one,) = nameless.graded
    from dataclasses import replace

    blank = replace(one, part=Part(10, None, ""))
    assert gather_report(ferryman(graded=(blank,))).parts[0].label == "Part 10, not named yet"
