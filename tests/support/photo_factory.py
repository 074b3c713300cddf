"""Makes photos as phones, cameras, messengers and mischief make them. All invented; nothing is downloaded."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageCms, ImageDraw, TiffImagePlugin
from PIL.TiffImagePlugin import IFDRational

MAKE, MODEL, ORIENTATION, DATE_TIME = 0x010F, 0x0110, 0x0112, 0x0132
EXIF_IFD, GPS_IFD = 0x8769, 0x8825
ORIGINAL, DIGITIZED, OFFSET_ORIGINAL, OFFSET_DIGITIZED = 0x9003, 0x9004, 0x9011, 0x9012
CANARY = "CANARY-HOME-51.4779N"
"""Stands for the place of somebody's home: it must never be found in a smaller picture."""

RED, GREEN, BLUE, YELLOW = (200, 30, 30), (30, 160, 40), (30, 40, 190), (230, 210, 40)


def quarters(width: int = 320, height: int = 200) -> Image.Image:
    """A picture that no turn or mirror maps onto itself: upper row red and green, lower row blue and yellow."""
    image = Image.new("RGB", (width, height))
    draw = ImageDraw.Draw(image)
    for colour, column, row in ((RED, 0, 0), (GREEN, 1, 0), (BLUE, 0, 1), (YELLOW, 1, 1)):
        corner = (column * width // 2, row * height // 2)
        draw.rectangle([corner, (corner[0] + width // 2, corner[1] + height // 2)], fill=colour)
    return image


def corners(image: Image.Image | np.ndarray) -> list[str]:
    """The colours in the four quarters of a picture (RGB), row by row, by name."""
    pixels = np.asarray(image.convert("RGB") if isinstance(image, Image.Image) else image).astype(int)
    names = {"red": RED, "green": GREEN, "blue": BLUE, "yellow": YELLOW}
    height, width = pixels.shape[:2]
    return [
        min(names, key=lambda name: int(np.abs(pixels[y, x] - np.array(names[name])).sum()))
        for y in (height // 4, height * 3 // 4)
        for x in (width // 4, width * 3 // 4)
    ]


def textured(width: int, height: int, seed: int = 1, grain: float = 5.0) -> Image.Image:
    """Something that compresses as a photo does: soft shapes with grain on them."""
    numbers = np.random.default_rng(seed)
    soft = numbers.integers(0, 256, (max(2, height // 48), max(2, width // 48), 3), dtype=np.uint8)
    pixels = np.asarray(Image.fromarray(soft).resize((width, height), Image.Resampling.BICUBIC)).astype(np.int16)
    pixels = pixels + (numbers.standard_normal((height, width, 1)) * grain).astype(np.int16)
    return Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8))


def exif(
    *,
    orientation: int | None = None,
    original: Any = None,
    digitized: Any = None,
    edited: Any = None,
    offset: Any = None,
    offset_digitized: Any = None,
    make: Any = None,
    model: Any = None,
    position: bool = False,
) -> Image.Exif:
    """An Exif block with the tags that are given (numbers as in CIPA DC-008)."""
    block = Image.Exif()
    block[0x0131] = "invented"  # Software: Pillow writes no block whose main part is empty
    for tag, value in ((MAKE, make), (MODEL, model), (ORIENTATION, orientation), (DATE_TIME, edited)):
        if value is not None:
            block[tag] = value
    camera = block.get_ifd(EXIF_IFD)
    for tag, value in (
        (ORIGINAL, original),
        (DIGITIZED, digitized),
        (OFFSET_ORIGINAL, offset),
        (OFFSET_DIGITIZED, offset_digitized),
    ):
        if value is not None:
            camera[tag] = value
    if position:
        degrees = (IFDRational(51), IFDRational(28), IFDRational(40, 1))
        block.get_ifd(GPS_IFD).update({1: "N", 2: degrees, 3: "E", 4: (IFDRational(0), IFDRational(0), IFDRational(5))})
    return block


def picture(kind: str = "JPEG", image: Image.Image | None = None, **options: Any) -> bytes:
    """A picture of any kind Pillow writes, as bytes."""
    if kind == "HEIF":
        import pillow_heif

        pillow_heif.register_heif_opener(thumbnails=False)
    if kind in ("HEIF", "TIFF") and "exif" in options:
        # As bytes: only then does HEIF get its turn in the container too, and TIFF the camera's own block.
        options["exif"] = options["exif"].tobytes()
    stream = io.BytesIO()
    (image or quarters()).save(stream, kind, **options)
    return stream.getvalue()


def segment(marker: int, payload: bytes) -> bytes:
    """One JPEG marker segment."""
    return bytes([0xFF, marker]) + struct.pack(">H", len(payload) + 2) + payload


def with_segment(jpeg: bytes, marker: int, payload: bytes) -> bytes:
    """A JPEG with a segment put in behind its start."""
    return jpeg[:2] + segment(marker, payload) + jpeg[2:]


def mpo() -> bytes:
    """Two photos in one file, the first of which counts (CIPA DC-007)."""
    other = Image.new("RGB", (320, 200), (90, 90, 90))
    return picture("MPO", save_all=True, append_images=[other])


def ultra_hdr() -> bytes:
    """A photo with a gain map behind it: listed as a second picture, but none that anybody took."""
    xmp = b'http://ns.adobe.com/xap/1.0/\0<x:xmpmeta xmlns:hdrgm="urn:hdrgm" hdrgm:Version="1.0"/>'
    return with_segment(mpo(), 0xE1, xmp)


def motion_photo() -> bytes:
    """A photo with its short film behind the picture's end."""
    return picture() + b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom" + bytes(range(256)) * 40


def png_header_only(width: int, height: int) -> bytes:
    """A PNG that claims a size and holds next to nothing."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    body = chunk(b"IDAT", zlib.compress(bytes(1000)))
    return b"\x89PNG\r\n\x1a\n" + header + body + chunk(b"IEND", b"")


def png_text_bomb() -> bytes:
    """A small PNG whose compressed note swells to 80 megabytes."""
    plain = picture("PNG")
    note = b"Comment\0\0" + zlib.compress(bytes(80_000_000), 9)
    body = b"zTXt" + note
    return plain[:33] + struct.pack(">I", len(note)) + body + struct.pack(">I", zlib.crc32(body)) + plain[33:]


def claiming(jpeg: bytes, width: int, height: int) -> bytes:
    """A JPEG whose frame header claims another size."""
    at = jpeg.index(b"\xff\xc0") + 5
    return jpeg[:at] + struct.pack(">HH", height, width) + jpeg[at + 4 :]


def raw_tiff() -> bytes:
    """A camera's raw file as far as can be told: a TIFF with the DNG version tag and a stamp-sized preview."""
    tags = TiffImagePlugin.ImageFileDirectory_v2()
    tags[0xC612] = b"\x01\x04\x00\x00"
    tags.tagtype[0xC612] = 1
    return picture("TIFF", quarters(64, 40), tiffinfo=tags)


def wide_profile() -> bytes:
    """An ICC profile that is not sRGB: the same, with red and blue changed over, so that its use shows."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    tags = {bytes(profile[at : at + 4]): at for at in range(132, 132 + 12 * profile[131], 12)}
    red, blue = tags[b"rXYZ"] + 4, tags[b"bXYZ"] + 4
    profile[red : red + 8], profile[blue : blue + 8] = profile[blue : blue + 8], profile[red : red + 8]
    return bytes(profile).replace(b"s\0R\0G\0B", b"m\0i\0n\0e").replace(b"sRGB", b"mine")


def zipped(entries: dict[str, bytes], to: Path, method: int = zipfile.ZIP_STORED) -> Path:
    """A zip file of those entries."""
    with zipfile.ZipFile(to, "w", method) as archive:
        for name, data in entries.items():
            archive.writestr(name, data)
    return to


class Memory:
    """A ledger that keeps everything in mind."""

    def __init__(self) -> None:
        self.arrivals: list[Any] = []
        self.calls: list[int] = []

    def known(self, sha256: str) -> int | None:
        return next((number for number, one in enumerate(self.arrivals, 1) if one.sha256 == sha256), None)

    def lookalike(self, pixel_hash: str) -> int | None:
        return next((number for number, one in enumerate(self.arrivals, 1) if one.pixel_hash == pixel_hash), None)

    def record(self, arrivals: Any) -> list[int]:
        self.calls.append(len(arrivals))
        first = len(self.arrivals) + 1
        self.arrivals.extend(arrivals)
        return list(range(first, first + len(arrivals)))
