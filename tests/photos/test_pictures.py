"""Smaller pictures: upright against OpenCV as an independent reader of CIPA DC-008's Orientation, sRGB, and bare."""

from __future__ import annotations

import io
import subprocess
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import photo_factory as make
import pytest
from PIL import Image, ImageCms, PngImagePlugin

from survey.errors import DamagedPhoto, NextStep
from survey.photos import pictures
from survey.photos.decode import THUMB_PX, VIEW_PX, VIEW_PX_AT_MOST, crop_file, decode_photo, needs_child
from survey.photos.file_type import UnusableFile

pytestmark = [pytest.mark.filterwarnings("ignore::UserWarning:PIL"), pytest.mark.usefixtures("no_child_is_left")]


def saved(data: bytes, tmp_path: Path, name: str = "photo") -> Path:
    path = tmp_path / name
    path.write_bytes(data)
    return path


def opened(jpeg: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(jpeg))
    image.load()
    return image


@pytest.mark.parametrize("orientation", range(1, 9))
def test_all_eight_orientations_as_opencv_reads_them(orientation: int, tmp_path: Path) -> None:
    data = make.picture(image=make.quarters(), exif=make.exif(orientation=orientation), quality=95)
    other = cv2.cvtColor(cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR), cv2.COLOR_BGR2RGB)
    developed = pictures.decode_safely(saved(data, tmp_path))
    assert (developed.height, developed.width) == other.shape[:2]
    assert make.corners(opened(developed.view)) == make.corners(other)
    assert make.corners(opened(developed.thumb)) == make.corners(other)
    piece = crop_file(saved(data, tmp_path), (0.0, 0.0, 0.5, 0.5), 100)
    assert make.corners(opened(piece)) == [make.corners(other)[0]] * 4


def test_the_eight_orientations_are_eight_different_pictures(tmp_path: Path) -> None:
    seen = {
        tuple(make.corners(opened(pictures.decode_safely(saved(data, tmp_path)).view)))
        for data in (make.picture(exif=make.exif(orientation=number)) for number in range(1, 9))
    }
    assert len(seen) == 8


@pytest.mark.parametrize("odd", [0, 9, 65535])
def test_an_orientation_that_is_none_means_upright(odd: int, tmp_path: Path) -> None:
    developed = pictures.decode_safely(saved(make.picture(exif=make.exif(orientation=odd)), tmp_path))
    assert (developed.width, developed.height) == (320, 200)
    assert make.corners(opened(developed.view)) == ["red", "green", "blue", "yellow"]


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "TIFF", "AVIF", "MPO"])
@pytest.mark.parametrize("orientation", [1, 3, 5, 6, 8])
def test_other_kinds_come_upright_too(kind: str, orientation: int, tmp_path: Path) -> None:
    # What a JPEG of the same rows and tag looks like to OpenCV is what each other kind must look like.
    as_jpeg = make.picture(exif=make.exif(orientation=orientation), quality=95)
    other = cv2.cvtColor(cv2.imdecode(np.frombuffer(as_jpeg, np.uint8), cv2.IMREAD_COLOR), cv2.COLOR_BGR2RGB)
    developed = pictures.decode_safely(saved(make.picture(kind, exif=make.exif(orientation=orientation)), tmp_path))
    assert (developed.height, developed.width) == other.shape[:2]
    assert make.corners(opened(developed.view)) == make.corners(other)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_heic_is_turned_once_and_not_twice(orientation: int, tmp_path: Path) -> None:
    # The encoder writes the tag and the turn boxes (irot and imir of ISO/IEC 23008-12); the decoder obeys the boxes.
    data = make.picture("HEIF", exif=make.exif(orientation=orientation), quality=90)
    as_jpeg = make.picture(exif=make.exif(orientation=orientation), quality=95)
    other = cv2.cvtColor(cv2.imdecode(np.frombuffer(as_jpeg, np.uint8), cv2.IMREAD_COLOR), cv2.COLOR_BGR2RGB)
    developed = pictures.decode_safely(saved(data, tmp_path))
    assert developed.format == "heif"
    assert (developed.height, developed.width) == other.shape[:2]
    assert make.corners(opened(developed.view)) == make.corners(other)


@pytest.mark.reference("exiftool")
@pytest.mark.parametrize("orientation", range(1, 9))
def test_exiftool_reads_the_tag_we_turn_by(orientation: int, tmp_path: Path) -> None:
    path = saved(make.picture(exif=make.exif(orientation=orientation)), tmp_path, "photo.jpg")
    said = subprocess.run(["exiftool", "-n", "-s3", "-Orientation", path], capture_output=True, text=True, check=True)
    assert int(said.stdout) == orientation
    sideways = decode_photo(path).height == 320
    assert sideways == (int(said.stdout) >= 5)


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (make.picture(), "jpeg"),
        (make.mpo(), "mpo"),
        (make.ultra_hdr(), "jpeg"),
        (make.motion_photo(), "jpeg"),
        (make.picture("PNG"), "png"),
        (make.picture("WEBP"), "webp"),
        (make.picture("TIFF"), "tiff"),
        (make.picture("HEIF"), "heif"),
        (make.picture("AVIF"), "avif"),
        (make.picture(progressive=True), "jpeg"),
        (make.picture(image=make.quarters().convert("CMYK")), "jpeg"),
        (make.picture(image=make.quarters().convert("L")), "jpeg"),
    ],
)
def test_the_first_picture_of_every_kind(data: bytes, word: str, tmp_path: Path) -> None:
    # MPO: CIPA DC-007. A gain map or a film behind the picture is neither a photo nor damage.
    developed = pictures.decode_safely(saved(data, tmp_path))
    assert (developed.format, developed.width, developed.height) == (word, 320, 200)
    assert not developed.cut_short
    if "L" != Image.open(io.BytesIO(data)).mode:
        assert make.corners(opened(developed.view)) == ["red", "green", "blue", "yellow"]


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF", "HEIF"])
def test_a_foreign_profile_is_brought_to_srgb(kind: str, tmp_path: Path) -> None:
    # In that profile red and blue have changed places: as sRGB the picture is blue where the numbers say red.
    data = make.picture(kind, icc_profile=make.wide_profile())
    view = opened(pictures.decode_safely(saved(data, tmp_path)).view)
    assert make.corners(view)[0] == "blue" and make.corners(view)[2] == "red"
    assert "icc_profile" not in view.info


def test_srgb_and_no_profile_look_the_same(tmp_path: Path) -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    plain = pictures.decode_safely(saved(make.picture(), tmp_path))
    tagged = pictures.decode_safely(saved(make.picture(icc_profile=profile), tmp_path))
    assert plain.view == tagged.view
    assert pictures.decode_safely(saved(make.picture(icc_profile=b"no profile at all"), tmp_path)).view == plain.view


def greys(image: Image.Image) -> list[int]:
    return [image.convert("L").getpixel((image.width * step // 8, image.height // 2)) for step in (1, 4, 7)]


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_sixteen_bits_become_eight(kind: str, tmp_path: Path) -> None:
    ramp = np.tile(np.linspace(0, 65535, 256).astype(np.uint16), (64, 1))
    found = greys(opened(pictures.decode_safely(saved(make.picture(kind, Image.fromarray(ramp)), tmp_path)).view))
    assert found == pytest.approx([32, 128, 224], abs=3)


def test_what_is_see_through_lies_on_white(tmp_path: Path) -> None:
    clear = make.quarters().convert("RGBA")
    clear.putalpha(0)
    view = opened(pictures.decode_safely(saved(make.picture("PNG", clear), tmp_path)).view)
    assert view.getpixel((10, 10)) == (255, 255, 255)
    palette = make.picture("PNG", make.quarters().convert("P", palette=Image.Palette.ADAPTIVE))
    assert make.corners(opened(pictures.decode_safely(saved(palette, tmp_path)).view))[0] == "red"


def canaried() -> list[tuple[str, bytes]]:
    block = make.exif(position=True, make=make.CANARY)
    block.get_ifd(make.EXIF_IFD)[0x927C] = make.CANARY.encode()  # maker note
    jpeg = make.picture(
        exif=block, comment=make.CANARY.encode(), icc_profile=make.wide_profile() + make.CANARY.encode()
    )
    for marker, head in (
        (0xE1, b"http://ns.adobe.com/xap/1.0/\0"),
        (0xED, b"Photoshop 3.0\0"),
        (0xEB, b"JP"),
        (0xE2, b"MPF\0"),
    ):
        jpeg = make.with_segment(jpeg, marker, head + make.CANARY.encode())
    note = PngImagePlugin.PngInfo()
    note.add_text("Comment", make.CANARY)
    xmp = f"<x:xmpmeta>{make.CANARY}</x:xmpmeta>".encode()
    return [
        ("jpeg", jpeg + make.CANARY.encode()),
        ("png", make.picture("PNG", exif=block, pnginfo=note)),
        ("webp", make.picture("WEBP", exif=block, xmp=xmp)),
        ("tiff", make.picture("TIFF", exif=block)),
        ("heif", make.picture("HEIF", exif=block, xmp=xmp)),
        ("avif", make.picture("AVIF", exif=block, xmp=xmp)),
    ]


def markers(jpeg: bytes) -> set[int]:
    """The segments of a JPEG up to its scan (ITU-T T.81, B.1.1)."""
    found, at = set(), 2
    while jpeg[at + 1] != 0xDA:
        found.add(jpeg[at + 1])
        at += 2 + int.from_bytes(jpeg[at + 2 : at + 4], "big")
    return found


@pytest.mark.parametrize(("kind", "data"), canaried(), ids=[kind for kind, _ in canaried()])
def test_smaller_pictures_carry_no_word_of_the_original(kind: str, data: bytes, tmp_path: Path) -> None:
    assert make.CANARY.encode() in data
    original = saved(data, tmp_path)
    folder = tmp_path / "survey"
    thumb = pictures.get_picture(folder, original, "ab" * 32, "thumb").read_bytes()
    view = pictures.get_picture(folder, original, "ab" * 32, "view").read_bytes()
    small = pictures.crop_picture(folder, original, "ab" * 32, (0.1, 0.1, 0.4, 0.4), 50)
    for jpeg in (thumb, view, small, crop_file(original, (0, 0, 1, 1), 100)):
        assert b"CANARY" not in jpeg
        # APP0 (JFIF) is the only application segment left: no Exif, XMP, ICC, IPTC, and no comment (0xFE).
        assert {one for one in markers(jpeg) if 0xE0 <= one <= 0xEF or one == 0xFE} == {0xE0}
        assert not opened(jpeg).getexif()


COMMENT = b"Taken at 14 Ferry Lane"
SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def commented(**options: Any) -> bytes:
    """A photo as an ordinary phone makes it, its colours left as they are, with a comment in a segment of its own."""
    return make.with_segment(make.picture(image=make.textured(2400, 1800), **options), 0xFE, COMMENT)


def lower_case_note() -> bytes:
    """A PNG whose note has the name under which Pillow keeps, and writes, a JPEG's comment."""
    note = PngImagePlugin.PngInfo()
    note.add_text("comment", COMMENT.decode())
    return make.picture("PNG", make.textured(2400, 1800), pnginfo=note)


COMMENTED = {
    "no profile": commented(),
    "sRGB": commented(icc_profile=SRGB),
    "no profile, progressive": commented(progressive=True),
    "grey": make.with_segment(make.picture(image=make.textured(640, 480).convert("L")), 0xFE, COMMENT),
    "small": make.with_segment(make.picture(), 0xFE, COMMENT),
    "png": lower_case_note(),
}


def smaller_pictures(original: Path, tmp_path: Path) -> dict[str, bytes]:
    """Every picture that is made from an original: both sizes, a crop of the view, one of the original itself."""
    folder, sha = tmp_path / "survey", "cc" * 32
    return {
        "thumb": pictures.get_picture(folder, original, sha, "thumb").read_bytes(),
        "view": pictures.get_picture(folder, original, sha, "view").read_bytes(),
        "crop": pictures.crop_picture(folder, original, sha, (0.1, 0.1, 0.9, 0.9), 50),
        "fine crop": pictures.crop_picture(folder, original, sha, (0.4, 0.4, 0.6, 0.6), 1400),
        "cut": crop_file(original, (0, 0, 1, 1), 100),
    }


@pytest.mark.parametrize("data", COMMENTED.values(), ids=COMMENTED)
def test_a_comment_leaves_with_no_smaller_picture(data: bytes, tmp_path: Path) -> None:
    """Whether or not colours are brought to sRGB on the way. Marker COM is X'FFFE' (ITU-T T.81, table B.1)."""
    original = saved(data, tmp_path)
    assert COMMENT in data and opened(data).info["comment"] in (COMMENT, COMMENT.decode())
    for name, jpeg in smaller_pictures(original, tmp_path).items():
        assert COMMENT not in jpeg and 0xFE not in markers(jpeg), name
        assert "comment" not in opened(jpeg).info, name


@pytest.mark.reference("exiftool")
@pytest.mark.parametrize("data", [COMMENTED["no profile"], COMMENTED["sRGB"]], ids=["no profile", "sRGB"])
def test_exiftool_finds_the_comment_in_the_original_alone(data: bytes, tmp_path: Path) -> None:
    def comment(path: Path) -> str:
        asked = ["exiftool", "-s3", "-Comment", path]
        return subprocess.run(asked, capture_output=True, text=True, check=True).stdout.strip()

    original = saved(data, tmp_path, "photo.jpg")
    assert comment(original) == COMMENT.decode()
    made = smaller_pictures(original, tmp_path)
    assert {name: comment(saved(jpeg, tmp_path, "made.jpg")) for name, jpeg in made.items()} == dict.fromkeys(made, "")


def test_sizes_of_the_smaller_pictures(tmp_path: Path) -> None:
    large = pictures.decode_safely(saved(make.picture(image=make.textured(4000, 3000)), tmp_path))
    assert max(opened(large.thumb).size) == THUMB_PX
    assert VIEW_PX <= max(opened(large.view).size) <= VIEW_PX_AT_MOST
    odd = pictures.decode_safely(saved(make.picture(image=make.textured(3300, 1100)), tmp_path))
    assert opened(odd.view).size == (VIEW_PX, 600)
    small = pictures.decode_safely(saved(make.picture(), tmp_path))
    assert opened(small.view).size == (320, 200)  # never enlarged
    thin = pictures.decode_safely(saved(make.picture(image=Image.new("RGB", (5000, 2))), tmp_path))
    assert opened(thin.thumb).size == (480, 1)


def test_a_picture_is_made_when_absent_and_made_again_when_lost(tmp_path: Path) -> None:
    original = saved(make.picture(), tmp_path)
    first = pictures.get_picture(tmp_path, original, "cd" * 32, "view")
    assert first == tmp_path / "pictures" / "cd" / f"{'cd' * 32}-view.jpg"
    content = first.read_bytes()
    first.write_bytes(b"")
    assert pictures.get_picture(tmp_path, original, "cd" * 32, "view").read_bytes() == content
    first.unlink()
    assert pictures.get_picture(tmp_path, original, "cd" * 32, "view").read_bytes() == content
    assert sorted(file.name for file in first.parent.iterdir()) == [
        f"{'cd' * 32}-{size}.jpg" for size in ("thumb", "view")
    ]


def test_a_crop_comes_from_the_original_where_the_view_is_too_coarse(tmp_path: Path) -> None:
    image = make.textured(4000, 3000)
    for kind, options in (("JPEG", {}), ("JPEG", {"progressive": True}), ("PNG", {"compress_level": 1})):
        original = saved(make.picture(kind, image, exif=make.exif(orientation=6), **options), tmp_path)
        sha = f"{kind}{options}".encode().hex().ljust(64, "0")[:64]
        fine = opened(pictures.crop_picture(tmp_path, original, sha, (0.25, 0.25, 0.75, 0.5), 1400))
        assert fine.size == (1400, 933)  # 1500 x 1000 of the upright 3000 x 4000, brought down
        coarse = opened(pictures.crop_picture(tmp_path, original, sha, (0.25, 0.25, 0.75, 0.5), 300))
        assert coarse.size == (300, 200)


def test_a_crop_is_what_lies_in_the_box(tmp_path: Path) -> None:
    original = saved(
        make.picture(exif=make.exif(orientation=6), quality=95), tmp_path
    )  # upright: blue red / yellow green
    for box, colour in (((0.1, 0.1, 0.4, 0.4), "blue"), ((0.9, 0.4, 0.6, 0.1), "red"), ((-3, 0.6, 0.4, 9), "yellow")):
        assert make.corners(opened(pictures.crop_picture(tmp_path, original, "ef" * 32, box, 60))) == [colour] * 4
    assert opened(pictures.crop_picture(tmp_path, original, "ef" * 32, (0.5, 0.5, 0.5, 0.5), 60)).size == (1, 1)
    assert opened(pictures.crop_picture(tmp_path, original, "ef" * 32, (0, 0, 1, 1), 5000)).size == (200, 320)


def test_an_original_that_is_gone_or_damaged_is_told_plainly(tmp_path: Path) -> None:
    for original in (
        tmp_path / "gone.jpg",
        saved(b"no picture", tmp_path),
        saved(make.picture("PNG")[:400], tmp_path, "p"),
    ):
        with pytest.raises(DamagedPhoto) as said:
            pictures.get_picture(tmp_path, original, "00" * 32, "thumb")
        assert said.value.next_step is NextStep.TAKE_IN_AGAIN
        with pytest.raises(DamagedPhoto):
            pictures.crop_picture(tmp_path, original, "00" * 32, (0, 0, 1, 1), 100)


def test_the_same_pixels_give_the_same_hash_in_another_wrapping(tmp_path: Path) -> None:
    plain, film, other = (
        pictures.decode_safely(saved(data, tmp_path)).pixel_hash
        for data in (make.picture(), make.motion_photo(), make.picture(image=make.quarters(320, 202)))
    )
    assert plain == film != other


@pytest.mark.parametrize(("lost", "whole"), [(2, True), (40, True), (0.1, True), (0.5, False), (0.9, False)])
@pytest.mark.parametrize("grey", [False, True])
def test_a_jpeg_that_lacks_its_last_bytes(lost: float, whole: bool, grey: bool, tmp_path: Path) -> None:
    image = make.textured(800, 600)
    data = make.picture(image=image.convert("L") if grey else image)
    path = saved(data[: len(data) - (int(lost) or int(len(data) * lost))], tmp_path)
    if not whole:
        with pytest.raises(UnusableFile, match="end is missing"):
            pictures.decode_safely(path)
        return
    developed = pictures.decode_safely(path)
    assert (developed.width, developed.height) == (800, 600)
    # The last two bytes are the end marker: without them not a pixel is missing.
    assert developed.cut_short or lost == 2


@pytest.mark.parametrize("cut", [3, 20, 150, 300])
def test_a_jpeg_cut_off_in_its_head_is_damaged(cut: int, tmp_path: Path) -> None:
    with pytest.raises(UnusableFile) as said:
        pictures.decode_safely(saved(make.picture()[:cut], tmp_path))
    assert said.value.reason == "damaged"


def test_a_phones_two_hundred_megapixels_are_taken(tmp_path: Path) -> None:
    tile = make.textured(1020, 768)
    large = Image.new("RGB", (16320, 12240))
    for number in range(16 * 16):
        large.paste(tile, (number % 16 * 1020, number // 16 * 768))
    original = saved(make.picture(image=large, quality=75), tmp_path)
    del large
    assert not needs_child(original)
    developed = pictures.decode_safely(original)
    assert (developed.width, developed.height) == (16320, 12240)
    assert max(opened(developed.view).size) <= VIEW_PX_AT_MOST
