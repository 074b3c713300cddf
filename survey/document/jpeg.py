"""A JPEG freed of everything but the picture: no position, camera, date or comment leaves with a report.

Marker segments as in ITU-T T.81 annex B. Kept of the application segments: APP0 (JFIF), APP2 when it is a colour
profile, APP14 (how the colours are coded).
"""

from __future__ import annotations

import re

from survey.errors import BadValue

_APP0, _APP2, _APP14, _APP15 = 0xE0, 0xE2, 0xEE, 0xEF
_COMMENT, _SCAN, _END = 0xFE, 0xDA, 0xD9

# In coded data a 0xFF is followed by 0x00, a restart mark or filling; anything else begins a segment.
_NEXT_SEGMENT = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")


def strip_jpeg(data: bytes) -> bytes:
    """The same picture without metadata, and nothing behind its end: no second picture, no film.

    Raises BadValue when it is not a whole JPEG.
    """
    kept = [data[:2]]
    at = 2
    while data[:2] == b"\xff\xd8" and data[at : at + 1] == b"\xff" and at + 4 <= len(data):
        marker = data[at + 1]
        end = at + 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        if marker == _SCAN:
            following = _NEXT_SEGMENT.search(data, end)
            if following is None:
                break
            end = following.start()
        if _is_kept(marker, data[at + 4 : end]):
            kept.append(data[at:end])
        if data[end : end + 2] == bytes((0xFF, _END)):
            return b"".join((*kept, data[end : end + 2]))
        at = end
    raise BadValue(
        "A picture for the report is no whole JPEG.", "Run the check command: a derived picture may be damaged."
    )


def _is_kept(marker: int, body: bytes) -> bool:
    if marker == _COMMENT:
        return False
    if _APP0 <= marker <= _APP15:
        return marker in (_APP0, _APP14) or (marker == _APP2 and body.startswith(b"ICC_PROFILE\x00"))
    return True
