"""One decode of one picture: its facts, and two smaller pictures made from it. Runs in this process or in a child.

Pillow's own limits are not relied on: how many pixels are too many is decided here, before anything is decoded.
"""

from __future__ import annotations

import hashlib
import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import IO

from PIL import Image, ImageCms, TiffImagePlugin
from PIL.JpegImagePlugin import JpegImageFile

from survey.photos import metadata
from survey.photos.file_type import HEAD_BYTES, UnusableFile, detect_file_type
from survey.photos.metadata import PhotoMetadata

THUMB_PX = 480
VIEW_PX = 1800
VIEW_PX_AT_MOST = 2048  # a picture decoded to between the two is left as it is: resizing costs as much as decoding
THUMB_QUALITY = 80
VIEW_QUALITY = 85

JPEG_PIXELS = 300_000_000  # phones reach 200 megapixels; a JPEG is decoded at a fraction of its size
OTHER_PIXELS = 150_000_000
SUSPECT_PIXELS = 50_000_000
SUSPECT_PIXELS_PER_BYTE = 200  # judgement: photos have 2 to 20; a blank sheet made to swell has thousands
JPEG_PIXELS_PER_BYTE = 256
LEAST_ROWS = 0.75  # judgement: a picture with less of it than this is refused as damaged

# CIPA DC-008, tag Orientation: what brings the stored rows upright.
ROTATIONS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
_SIDEWAYS = (5, 6, 7, 8)
_FORMATS = {"png": "PNG", "webp": "WEBP", "tiff": "TIFF", "heif": "HEIF", "avif": "AVIF"}
_TROUBLE = (OSError, ValueError, SyntaxError, TypeError, EOFError, RuntimeError, IndexError, KeyError, ArithmeticError)

Box = tuple[float, float, float, float]
"""Left, top, right, bottom as fractions of the upright picture."""

warnings.filterwarnings("ignore", module=r"PIL\.")  # they name faults of a stranger's file to nobody


@dataclass(frozen=True, slots=True)
class DecodedPhoto:
    """What one decode gives. width and height in upright pixels; thumb and view are JPEG files.

    ``pixel_hash``: SHA-256 of the small picture's pixels. ``cut_short``: the last rows are missing.
    """

    format: str
    width: int
    height: int
    pixel_hash: str
    cut_short: bool
    facts: PhotoMetadata
    thumb: bytes
    view: bytes


def decode_photo(path: Path) -> DecodedPhoto:
    """Decode a picture once and make both smaller pictures of it.

    Raises:
        NotTaken: it does not decode, or is larger than a photo can be.
    """
    with _decoded(path, VIEW_PX) as opened:
        facts = metadata.read_with_pillow(opened.image)
        with path.open("rb") as stream:
            facts = metadata.merge_metadata(facts, lambda: metadata.read_with_exifread(stream))
        view = _to_srgb(_shrunk(opened.image, VIEW_PX, VIEW_PX_AT_MOST))
        if opened.turn in ROTATIONS:
            view = view.transpose(ROTATIONS[opened.turn])
        thumb = _shrunk(view, THUMB_PX)
        width, height = opened.size
        return DecodedPhoto(
            opened.format,
            width,
            height,
            hashlib.sha256(b"%d %d " % thumb.size + thumb.tobytes()).hexdigest(),
            opened.cut_short,
            facts,
            _jpeg(thumb, THUMB_QUALITY),
            _jpeg(view, VIEW_QUALITY),
        )


def crop_file(path: Path, box: Box, width_px: int) -> bytes:
    """A piece of a picture as an upright sRGB JPEG without metadata, at most ``width_px`` wide and never enlarged."""
    share = max(box[2] - box[0], 1e-6)
    with _decoded(path, None, share, width_px) as opened:
        image = opened.image.transpose(ROTATIONS[opened.turn]) if opened.turn in ROTATIONS else opened.image
        return crop_image(image, box, width_px)


def crop_image(image: Image.Image, box: Box, width_px: int) -> bytes:
    """As ``crop_file``, of a picture that is upright already."""
    width, height = image.size
    left, top = (min(int(at * side), side - 1) for at, side in ((box[0], width), (box[1], height)))
    right = max(min(round(box[2] * width), width), left + 1)
    bottom = max(min(round(box[3] * height), height), top + 1)
    piece = _to_srgb(image.crop((left, top, right, bottom)))
    if piece.width > width_px:
        size = (width_px, max(1, round(piece.height * width_px / piece.width)))
        piece = piece.resize(size, Image.Resampling.LANCZOS, reducing_gap=2.0)
    return _jpeg(piece, VIEW_QUALITY)


@contextmanager
def open_upright(view: Path) -> Iterator[Image.Image]:
    """One of our own smaller pictures, opened."""
    with Image.open(view, formats=["JPEG"]) as image:
        yield image


@dataclass(frozen=True, slots=True)
class _Opened:
    """A decoded picture as stored; ``turn`` is still to be applied; ``size`` is upright and full."""

    image: Image.Image
    format: str
    size: tuple[int, int]
    turn: int
    cut_short: bool = False


@contextmanager
def _decoded(path: Path, long_px: int | None, share: float = 1.0, width_px: int = 0) -> Iterator[_Opened]:
    with path.open("rb") as stream:
        kind = detect_file_type(stream.read(HEAD_BYTES))
        stream.seek(0)
        try:
            if kind == "jpeg":
                yield _jpeg_opened(stream, long_px, share, width_px)
            else:
                yield _other_opened(stream, kind, path.stat().st_size)
        except MemoryError:
            raise UnusableFile("too-large", "The picture needs more memory than a photo should.") from None
        except _TROUBLE as error:
            raise UnusableFile("damaged", "The picture is damaged and cannot be decoded; copy it again.") from error


def needs_child(path: Path) -> bool:
    """Whether a picture is to be decoded in a child process: all but baseline JPEG, which is read at a fraction."""
    with path.open("rb") as stream:
        if detect_file_type(stream.read(HEAD_BYTES)) != "jpeg":
            return True
        stream.seek(0)
        try:
            return "progressive" in JpegImageFile(stream).info
        except _TROUBLE:
            return False


def _jpeg_opened(stream: IO[bytes], long_px: int | None, share: float, width_px: int) -> _Opened:
    """The first picture of a JPEG file, whatever follows it: `JpegImageFile` never looks further, `Image.open` does."""
    image = _drafted(stream, long_px, share, width_px)
    full, turn, count = _full_size(image), _turn(image), _pictures_in(image)
    word = "mpo" if count > 1 else "jpeg"
    cut_short = False
    try:
        image.load()
    except OSError:
        stream.seek(0)
        image = _drafted(io.BytesIO(stream.read() + b"\xff\xd9"), long_px, share, width_px)
        image.load()
        cut_short = True
        if _rows_there(image) < LEAST_ROWS:
            raise UnusableFile("damaged", "Too much of the picture's end is missing; copy it again.") from None
    return _Opened(image, word, full[::-1] if turn in _SIDEWAYS else full, turn, cut_short)


def _drafted(stream: IO[bytes], long_px: int | None, share: float, width_px: int) -> JpegImageFile:
    """Opened and set to decode at the smallest fraction that still has the pixels asked for."""
    image = JpegImageFile(stream)
    width, height = image.size
    if width * height > JPEG_PIXELS:
        raise UnusableFile("too-large", f"The picture claims {width} x {height} pixels; a photo has fewer.")
    _refuse_hollow(stream, image)
    image.info["full_size"] = image.size
    if long_px is not None:
        scale = min(1.0, long_px / max(width, height))
    else:
        upright = height if _turn(image) in _SIDEWAYS else width
        scale = min(1.0, width_px / (upright * share))
    image.draft(None, (max(1, int(width * scale)), max(1, int(height * scale))))
    return image


def _refuse_hollow(stream: IO[bytes], image: JpegImageFile) -> None:
    """Refuse more pixels than the bytes can hold: a baseline block of 64 takes two bits (ITU-T T.81, F.1.2)."""
    file_bytes = stream.seek(0, io.SEEK_END)
    if "progressive" not in image.info and image.width * image.height > JPEG_PIXELS_PER_BYTE * file_bytes:
        raise UnusableFile("damaged", "The picture claims far more than the file holds; it is damaged. Copy it again.")


def _full_size(image: Image.Image) -> tuple[int, int]:
    width, height = image.info["full_size"]
    return width, height


def _rows_there(image: Image.Image) -> float:
    """The share of rows that hold a picture: the decoder leaves rows it has no data for in one middle grey."""
    blank = bytes([128] * image.width * len(image.getbands()))
    row = image.height
    while row and image.crop((0, row - 1, image.width, row)).tobytes() == blank:
        row -= 1
    return row / image.height


def _pictures_in(image: Image.Image) -> int:
    """How many photos a multi-picture file says it holds (CIPA DC-007, tag NumberOfImages); 1 for all others.

    A gain map behind the picture (Ultra HDR) is listed there too but is no photo.
    """
    index = image.info.get("mp")
    if not index or b"hdrgm:Version" in bytes(image.info.get("xmp", b"")):
        return 1
    try:
        stream = io.BytesIO(index)
        entries = TiffImagePlugin.ImageFileDirectory_v2(stream.read(8))
        stream.seek(entries.next)
        entries.load(stream)
        return int(entries[0xB001])
    except Exception:  # the index is a courtesy: the first picture is there without it
        return 1


def _other_opened(stream: IO[bytes], kind: str, file_bytes: int) -> _Opened:
    """The first picture of anything but a JPEG. HEIF comes upright from its decoder and is not turned again."""
    if kind == "heif":
        import pillow_heif

        pillow_heif.register_heif_opener(thumbnails=False)
    Image.MAX_IMAGE_PIXELS = None
    image = Image.open(stream, formats=[_FORMATS[kind]])
    _refuse_giant(image, kind, file_bytes)
    if kind == "tiff":
        _refuse_raw(image)
    image.load()
    turn = 1 if kind == "heif" else _turn(image)
    size = image.size
    return _Opened(image, kind, size[::-1] if turn in _SIDEWAYS else size, turn)


def _refuse_giant(image: Image.Image, kind: str, file_bytes: int) -> None:
    pixels = image.width * image.height
    limit = JPEG_PIXELS if kind in ("heif", "avif") else OTHER_PIXELS
    swollen = pixels > SUSPECT_PIXELS and pixels > SUSPECT_PIXELS_PER_BYTE * file_bytes
    if pixels > limit or swollen:
        raise UnusableFile("too-large", f"The picture claims {image.width} x {image.height} pixels; it is no photo.")


def _refuse_raw(image: Image.Image) -> None:
    """Cameras' raw files are TIFFs whose first picture is a stamp-sized preview (DNG 1.7; TIFF 6.0 NewSubfileType)."""
    tags = getattr(image, "tag_v2", {})
    if 0xC612 in tags or (tags.get(0x00FE) == 1 and 0x014A in tags):
        raise UnusableFile("unsupported-format", "This is a camera's raw file; save it as a JPEG and take that in.")


def _turn(image: Image.Image) -> int:
    """The Orientation tag; anything but 1 to 8 counts as upright."""
    try:
        value = metadata.get_exif(image).get(metadata.ORIENTATION, 1)
    except Exception:  # a stranger's bytes
        return 1
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def _shrunk(image: Image.Image, long_px: int, at_most_px: int = 0) -> Image.Image:
    scale = long_px / max(image.size)
    if image.mode not in ("RGB", "L", "CMYK"):
        image = _flattened(image)
    if scale >= 1 or max(image.size) <= at_most_px:
        return image
    size = (max(1, round(image.width * scale)), max(1, round(image.height * scale)))
    return image.resize(size, Image.Resampling.BICUBIC, reducing_gap=2.0)


def _flattened(image: Image.Image) -> Image.Image:
    """Any mode as RGB or L: see-through parts on white paper, deep greys brought down to eight bits."""
    if image.mode == "F" or image.mode.startswith("I"):
        flat = _eight_bits(image)
    elif image.has_transparency_data:
        clear = image.convert("RGBA")
        flat = Image.new("RGB", clear.size, "white")
        flat.paste(clear, mask=clear.getchannel("A"))
    else:
        flat = image.convert("RGB")
    if "icc_profile" in image.info:
        flat.info["icc_profile"] = image.info["icc_profile"]
    return flat


def _eight_bits(image: Image.Image) -> Image.Image:
    """Greys of 16 bits by their upper eight; others stretched between their darkest and lightest."""
    low, high = 0.0, 65535.0
    if not image.mode.startswith("I;16"):
        darkest, lightest = image.getextrema()
        low, high = float(darkest), float(lightest)  # type: ignore[arg-type]
        if image.mode == "I" and low >= 0 and high <= 65535:  # how 16-bit PNG was read by earlier versions
            low, high = 0.0, 65535.0
    scale = 255.0 / ((high - low) or 1.0)
    return image.convert("F").point(lambda value: value * scale - low * scale).convert("L")


def _to_srgb(image: Image.Image) -> Image.Image:
    """Colours as sRGB, in which a file without a profile is read everywhere; phones deliver Display P3."""
    if image.mode not in ("RGB", "L", "CMYK"):
        image = _flattened(image)
    profile = image.info.get("icc_profile")
    transform = _transform(profile, image.mode) if profile else None
    if transform is not None:
        return ImageCms.applyTransform(image, transform) or image
    return image if image.mode == "RGB" else image.convert("RGB")


@lru_cache(maxsize=16)
def _transform(profile: bytes, mode: str) -> ImageCms.ImageCmsTransform | None:
    """From a profile to sRGB; None where it is sRGB already or cannot be used."""
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        if "sRGB" in ImageCms.getProfileDescription(source):
            return None
        return ImageCms.buildTransform(source, _srgb(), mode, "RGB")
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return None


@lru_cache(maxsize=1)
def _srgb() -> ImageCms.ImageCmsProfile:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))


def _jpeg(image: Image.Image, quality: int) -> bytes:
    """The pixels alone: Pillow would carry a comment over from the source."""
    image.info = {}
    stream = io.BytesIO()
    image.save(stream, "JPEG", quality=quality)
    return stream.getvalue()
