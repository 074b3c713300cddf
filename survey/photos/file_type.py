"""What a file is, told from its first bytes; its name is never used.

Also the family of reasons why a file is not taken in.
"""

from __future__ import annotations

HEAD_BYTES = 64
"""How many first bytes `sniff` needs."""

REASONS: dict[str, str] = {
    "empty": "the file has no bytes",
    "not-a-picture": "the content is no picture",
    "unsupported-format": "a picture of a kind that is not read here",
    "video": "a film",
    "damaged": "the picture does not decode",
    "too-large": "more pixels, bytes, memory or time than a photo needs",
    "not-a-regular-file": "a pipe, a device or a link inside a zip file",
    "outside": "a link or a name that leads out of the folder or zip file",
    "unreadable": "the system does not let it be read",
    "hidden-folder": "a folder that the system or a program keeps for itself",
    "bad-zip": "the zip file is damaged or contradicts itself",
    "zip-bomb": "the zip file unpacks to far more than it holds",
    "encrypted": "locked with a password",
    "nested-zip": "a zip file inside a zip file",
}
"""Every reason a file may be refused for, and what it stands for."""

WARNINGS: dict[str, str] = {
    "cut-short": "the end of the picture is missing",
    "looks-like": "the same picture is in the survey already, in another wrapping",
    "put-back": "the survey's own copy was gone or damaged and has been put back",
}
"""Every warning about a file that was taken in."""


class UnusableFile(Exception):
    """A file is not taken in.

    Attributes:
        reason: a key of `REASONS`.
        message: one sentence the owner understands.
    """

    def __init__(self, reason: str, message: str) -> None:
        super().__init__(message)
        self.reason = reason
        self.message = message


SUFFIXES = {"jpeg": "jpg", "heif": "heic", "avif": "avif", "png": "png", "webp": "webp", "tiff": "tif"}
"""The kinds of picture that are read, and the file suffix of each among the originals."""

# (offset, bytes, what it is called). Signatures as published with each format.
_OTHER_PICTURES = (
    (0, b"GIF8", "a GIF"),
    (0, b"BM", "a Windows bitmap"),
    (0, b"8BPS", "a Photoshop document"),
    (0, b"%!PS", "a PostScript drawing"),
    (0, b"\xc5\xd0\xd3\xc6", "a PostScript drawing"),
    (0, b"%PDF", "a PDF document"),
    (0, b"\x00\x00\x00\x0cjP  ", "a JPEG 2000 picture"),
    (0, b"\xff\x4f\xff\x51", "a JPEG 2000 picture"),
    (0, b"\xff\x0a", "a JPEG XL picture"),
    (0, b"\x00\x00\x00\x0cJXL ", "a JPEG XL picture"),
    (0, b"FUJIFILMCCD-RAW", "a camera's raw file"),
    (0, b"IIU\x00", "a camera's raw file"),
    (0, b"IIRO", "a camera's raw file"),
    (0, b"IIRS", "a camera's raw file"),
    (8, b"CR\x02", "a camera's raw file"),
    (0, b"<svg", "an SVG drawing"),
)
_ARCHIVES = ((0, b"7z\xbc\xaf\x27\x1c"), (0, b"Rar!"), (0, b"\x1f\x8b"), (0, b"BZh"), (0, b"\xfd7zXZ"))
_FILMS = (
    (0, b"\x1aE\xdf\xa3"),
    (0, b"\x00\x00\x01\xba"),
    (0, b"\x00\x00\x01\xb3"),
    (0, b"FLV\x01"),
    (4, b"moov"),
    (4, b"mdat"),
    (4, b"wide"),
    (8, b"AVI "),
)
_HEIF_BRANDS = frozenset({b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"mif2", b"msf1", b"miaf"})


def detect_file_type(head: bytes) -> str:
    """The kind of picture: a key of `SUFFIXES`, or ``zip``.

    Args:
        head: the first `HEAD_BYTES` bytes, or all there are.

    Raises:
        NotTaken: it is something else.
    """
    if not head:
        raise UnusableFile("empty", "The file is empty.")
    if head.startswith((b"PK\x03\x04", b"PK\x05\x06")):
        return "zip"
    if head.startswith(b"\xff\xd8\xff"):
        return "jpeg"
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png"
    if head.startswith(b"RIFF") and head[8:12] == b"WEBP":
        return "webp"
    if head[4:8] == b"ftyp":
        return _by_brand(head)
    _turn_away_known(head)
    if head.startswith((b"II*\x00", b"MM\x00*", b"II+\x00", b"MM\x00+")):
        return "tiff"
    raise UnusableFile("not-a-picture", "This is not a picture; its content is something else, whatever its name says.")


def _by_brand(head: bytes) -> str:
    """ISO base media files tell what they are by brands (ISO/IEC 14496-12; HEIF: ISO/IEC 23008-12)."""
    end = min(int.from_bytes(head[:4], "big"), len(head))
    brands = {head[8:12], *(head[at : at + 4] for at in range(16, end - 3, 4))}
    if brands & {b"avif", b"avis"}:
        return "avif"
    if brands & _HEIF_BRANDS:
        return "heif"
    if b"crx " in brands:
        raise UnusableFile("unsupported-format", "This is a camera's raw file; save it as a JPEG and take that in.")
    raise UnusableFile("video", "This is a film, not a photo; films are not taken in.")


def _turn_away_known(head: bytes) -> None:
    for offset, mark, called in _OTHER_PICTURES:
        if head[offset:].startswith(mark):
            raise UnusableFile("unsupported-format", f"This is {called}; save it as a JPEG or PNG and take that in.")
    if any(head[offset:].startswith(mark) for offset, mark in _FILMS):
        raise UnusableFile("video", "This is a film, not a photo; films are not taken in.")
    if any(head[offset:].startswith(mark) for offset, mark in _ARCHIVES):
        raise UnusableFile("unsupported-format", "This is a packed archive; unpack it, or make it a zip file.")
