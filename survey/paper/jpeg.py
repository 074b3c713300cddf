"""A JPEG freed of everything but the picture: no position, camera, date or comment leaves with a report.

Marker segments as in ITU-T T.81 annex B. Kept of the application segments: APP0 (JFIF), APP2 when it is a colour
profile, APP14 (how the colours are coded).
"""

from __future__ import annotations

from survey.errors import BadValue

_APP0, _APP1, _APP2, _APP14, _APP15 = 0xE0, 0xE1, 0xE2, 0xEE, 0xEF
_COMMENT, _SCAN = 0xFE, 0xDA


def bare_jpeg(data: bytes) -> bytes:
    """The same picture without metadata. Raises BadValue when it is not a JPEG."""
    if data[:3] != b"\xff\xd8\xff":
        raise BadValue(
            "A picture for the report is not a JPEG.", "Run the check command; a derived picture may be damaged."
        )
    kept = [data[:2]]
    at = 2
    while at + 4 <= len(data) and data[at] == 0xFF and data[at + 1] != _SCAN:
        marker = data[at + 1]
        end = at + 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        if _belongs(marker, data[at + 4 : end]):
            kept.append(data[at:end])
        at = end
    # After the picture's end a phone may have hung a second one, or a film: that goes too.
    stop = data.rfind(b"\xff\xd9", at)
    kept.append(data[at : stop + 2] if stop > at else data[at:])
    return b"".join(kept)


def _belongs(marker: int, body: bytes) -> bool:
    if marker == _COMMENT:
        return False
    if _APP0 <= marker <= _APP15:
        return marker in (_APP0, _APP14) or (marker == _APP2 and body.startswith(b"ICC_PROFILE\x00"))
    return True
