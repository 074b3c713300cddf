"""Damaged and mischievous files of every kind, taken in by a process that must outlive them.

Each ends as taken in or with one of our own reasons, the process that takes them in lives, and its memory does not
swell. ``long_form`` says how many files.
"""

from __future__ import annotations

import io
import json
import random
import struct
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import photo_factory as make
import pytest
from house import TOP
from long_form import tell, times

from survey.photos.file_type import REASONS
from survey.shelf.verbs import make_survey

FILES = times(240, full=5000)
BATCH = 500
RISE_BYTES = 300 * 1024 * 1024
NUMBERS = (0, 1, 0x7F, 0x80, 0xFF, 0x7FFF, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF)
"""Where sizes and counts break: the ends of one, two and four bytes, signed and not."""

TAKE_IN = """
import json
import resource
import sys
from pathlib import Path
from survey.photos.verbs import take_in_photos
from survey.safekeeping.check_verbs import check_survey
from survey.shelf.verbs import open_survey

def peak():
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return used if sys.platform == "darwin" else used * 1024

with open_survey(Path(sys.argv[1])) as survey:
    take_in_photos(survey, [Path(sys.argv[2])])
    before = peak()
    ends = [take_in_photos(survey, [folder]) for folder in sorted(Path(sys.argv[3]).iterdir())]
    told = {
        "taken": [one.path for end in ends for one in (*end.added, *end.already)],
        "refused": [(one.path, one.reason, one.message) for end in ends for one in end.refused],
        "rise": peak() - before,
        "problems": [str(one) for one in check_survey(survey)],
    }
print(json.dumps(told))
"""


def samples() -> dict[str, list[bytes]]:
    """Sound files of each kind, of the ways in which a phone, a scanner or a messenger writes them."""
    photo, block = make.textured(160, 120, seed=2), make.exif(original="2026:06:06 19:02:10", position=True)
    made = {
        "jpg": [make.picture(image=photo, exif=block), make.picture(image=photo, progressive=True), make.ultra_hdr(),
                make.picture(image=photo.convert("CMYK")), make.picture(image=photo, icc_profile=make.wide_profile())],
        "heic": [make.picture("HEIF", photo, exif=block), make.picture("HEIF", photo, quality=30)],
        "png": [make.picture("PNG", photo, exif=block), make.picture("PNG", photo.convert("P")),
                make.picture("PNG", photo.convert("LA"))],
        "webp": [make.picture("WEBP", photo, exif=block), make.picture("WEBP", photo, lossless=True)],
        "tif": [make.picture("TIFF", photo, exif=block), make.picture("TIFF", photo, compression="tiff_lzw"),
                make.picture("TIFF", photo, compression="jpeg"),
                make.picture("TIFF", photo, compression="tiff_adobe_deflate")],
    }  # fmt: skip
    return made | {"zip": [zipped(made, method) for method in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)]}


def zipped(made: dict[str, list[bytes]], method: int) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", method) as archive:
        for kind, files in made.items():
            archive.writestr(f"box/one.{kind}", files[0])
    return stream.getvalue()


def flipped(data: bytearray, dice: random.Random) -> None:
    for _ in range(dice.choice((1, 1, 2, 8, 64))):
        data[dice.randrange(len(data))] ^= 1 << dice.randrange(8)


def swollen(data: bytearray, dice: random.Random) -> None:
    """A number somewhere, in the head more often than not, becomes another: a size, a count, an offset."""
    form = dice.choice((">B", ">H", "<H", ">I", "<I"))
    wide = struct.calcsize(form)
    at = dice.randrange(min(len(data), dice.choice((64, 512, len(data)))) - wide)
    data[at : at + wide] = struct.pack(form, dice.choice(NUMBERS) & (256**wide - 1))


def shortened(data: bytearray, dice: random.Random) -> None:
    del data[dice.randrange(len(data)) :]


def holed(data: bytearray, dice: random.Random) -> None:
    at, wide = dice.randrange(len(data)), dice.randrange(1, 400)
    data[at : at + wide] = dice.choice((b"", bytes(wide), b"\xff" * wide, dice.randbytes(wide)))


def doubled(data: bytearray, dice: random.Random) -> None:
    at, wide = dice.randrange(len(data)), dice.randrange(1, 2000)
    data[at:at] = data[at : at + wide] * dice.choice((1, 1, 3, 50))


MUTATIONS: tuple[Callable[[bytearray, random.Random], None], ...] = (
    flipped,
    swollen,
    swollen,
    shortened,
    holed,
    doubled,
)


def mutated(sound: dict[str, list[bytes]], dice: random.Random) -> tuple[str, bytes]:
    """A sound file with one to three things done to it; now and then its end is that of another kind of file."""
    kind = dice.choice(sorted(sound))
    data = bytearray(dice.choice(sound[kind]))
    if dice.random() < 0.05:
        other = dice.choice(sound[dice.choice(sorted(sound))])
        data[dice.randrange(len(data)) :] = other[dice.randrange(len(other)) :]
    for _ in range(dice.randint(1, 3)):
        if len(data) > 16:
            dice.choice(MUTATIONS)(data, dice)
    return kind, bytes(data)


@pytest.mark.skipif(sys.platform == "win32", reason="its peak of memory is not told in this way")
@pytest.mark.slow
@pytest.mark.long_form
def test_no_file_ends_the_program_or_swells_it(tmp_path: Path) -> None:
    dice, sound, sent = random.Random(1957), samples(), []
    (tmp_path / "sound").mkdir()
    for kind, files in sound.items():
        for number, data in enumerate(files):
            (tmp_path / "sound" / f"{number}.{kind}").write_bytes(data)
    for number in range(FILES):
        kind, data = mutated(sound, dice)
        box = tmp_path / "phone" / f"{number // BATCH:03}"
        box.mkdir(parents=True, exist_ok=True)
        sent.append(box / f"{number:05}.{kind}")
        sent[-1].write_bytes(data)
    make_survey(tmp_path / "heap", "lightweight", "Ferryman in boxes").close()
    command = [sys.executable, "-c", TAKE_IN, *(str(tmp_path / name) for name in ("heap", "sound", "phone"))]
    run = subprocess.run(command, cwd=TOP, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr[-2000:]
    told = json.loads(run.stdout)
    tell(
        f"{FILES} mutated files: {len(told['taken'])} taken, {len(told['refused'])} refused,"
        f" {told['rise'] / 1e6:.0f} MB more memory"
    )
    every_one_has_an_end(sent, told)
    assert told["rise"] < RISE_BYTES
    assert told["problems"] == []


def every_one_has_an_end(sent: list[Path], told: dict[str, list]) -> None:  # type: ignore[type-arg]
    """Each file, or something in it where it is a zip file, was taken or refused; neither is rare."""
    ended = {*told["taken"], *(path for path, _, _ in told["refused"])}
    lost = [one for one in map(str, sent) if one not in ended and not any(end.startswith(f"{one}/") for end in ended)]
    assert lost == []
    assert {reason for _, reason, _ in told["refused"]} <= set(REASONS)
    assert all(message.endswith(".") and "Traceback" not in message for _, _, message in told["refused"])
    assert min(len(told["taken"]), len(told["refused"])) > len(sent) // 20, (
        "the files are broken too much, or too little"
    )


def test_a_file_without_an_end_would_be_noticed() -> None:
    sent = [Path(f"box/{number}.jpg") for number in range(40)]
    half = {"taken": [str(one) for one in sent[:20]], "refused": [(str(one), "damaged", "It is.") for one in sent[20:]]}
    every_one_has_an_end(sent, half)
    with pytest.raises(AssertionError):
        every_one_has_an_end([*sent, Path("box/lost.jpg")], half)
    with pytest.raises(AssertionError):
        every_one_has_an_end(sent, half | {"refused": [(str(sent[0]), "KeyError", "It is.")] * 20})
