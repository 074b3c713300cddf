"""From a clean render to a file as a phone writes it: lens and sensor manners, EXIF, the stored turn, the format."""

from __future__ import annotations

import zlib
from datetime import datetime

import cv2
import numpy as np
from PIL import Image

MAKER, MODEL, SOFTWARE = "Corvale", "Corvale Lantern 3", "CL3 4.11.2"
TURNS = {1: None, 3: Image.Transpose.ROTATE_180, 6: Image.Transpose.ROTATE_90, 8: Image.Transpose.ROTATE_270}


def phone(picture, seed, dark=0.0, shake=0.0):
    """Vignette, glare, warmth, noise, sharpening; `dark` under-exposes, `shake` px blurs along a hand's slip."""
    r = np.random.default_rng(seed)
    x = picture.astype(np.float32) / 255
    h, w = x.shape[:2]
    unit = max(h, w) / 2000
    if shake:
        x = cv2.filter2D(x, -1, _slip(r, shake * unit))
    yy, xx = np.mgrid[0:h, 0:w].astype(np.float32)
    radius = ((xx - w / 2) ** 2 + (yy - h / 2) ** 2) / ((w / 2) ** 2 + (h / 2) ** 2)
    x *= (1 - 0.15 * radius**1.3)[..., None]
    x += 0.10 * np.clip(cv2.GaussianBlur(x, (0, 0), 18 * unit) - 0.55, 0, 1)
    x = (x - 0.035) / 0.945
    x *= np.array([0.985, 1.0, 1.016], np.float32)
    noise = 1.0
    if dark:
        x, noise = x * (1 - dark), 2.6
    light = cv2.cvtColor(x.clip(0, 1), cv2.COLOR_BGR2GRAY)[..., None]
    chroma = cv2.GaussianBlur(r.normal(0, 1, x.shape).astype(np.float32), (0, 0), 0.8 * unit)
    grain = cv2.GaussianBlur(r.normal(0, 1, (h, w, 1)).astype(np.float32), (0, 0), 0.55 * unit)[..., None]
    x += noise * (0.006 * chroma / chroma.std() + 0.0075 * grain / grain.std()) * (1.25 - light)
    x += 0.5 * (x - cv2.GaussianBlur(x, (0, 0), 1.3 * unit)) + 0.12 * (x - cv2.GaussianBlur(x, (0, 0), 22 * unit))
    return (x.clip(0, 1) * 255 + 0.5).astype(np.uint8)


def _slip(r, length):
    side = int(length * 1.6) | 1
    kernel = np.zeros((side, side), np.float32)
    t = np.linspace(-0.5, 0.5, 60)
    angle = r.uniform(0, np.pi)
    path = np.c_[np.cos(angle) * t + 0.25 * t**2, np.sin(angle) * t - 0.2 * t**2] * length + side / 2
    for px, py in path:
        kernel[int(py) % side, int(px) % side] += 1
    kernel = cv2.GaussianBlur(kernel, (0, 0), 1.2)
    return kernel / kernel.sum()


def exif(row, size):
    """The EXIF block of one photo as the plan states it."""
    told = row["exif"]
    block = Image.Exif()
    block[0x010F], block[0x0110], block[0x0131] = MAKER, MODEL, SOFTWARE
    block[0x0112] = told.get("orientation", 1)
    block[0x011A] = block[0x011B] = 72.0
    block[0x0128] = 2
    taken = datetime.fromisoformat(told["taken"]).strftime("%Y:%m:%d %H:%M:%S")
    block[0x0132] = taken
    inner = block.get_ifd(0x8769)
    inner[0x9000] = b"0232"
    inner[0x9003] = inner[0x9004] = taken
    if "offset" in told:
        inner[0x9010] = inner[0x9011] = inner[0x9012] = told["offset"]
    seed = zlib.crc32(row["file"].encode())
    inner[0x9291] = f"{seed % 1000:03d}"
    inner[0x829A], inner[0x829D] = (1 / told.get("shutter", 50), 1.8)
    inner[0x8827], inner[0x920A], inner[0xA405] = told.get("iso", 200), 5.4, 26
    inner[0xA001], inner[0xA002], inner[0xA003] = 1, size[0], size[1]
    if "position" in told:
        _position(block.get_ifd(0x8825), *told["position"])
    return block


def _position(gps, north, east):
    gps[0] = b"\2\3\0\0"
    for tag, value, letters in ((1, north, "NS"), (3, east, "EW")):
        gps[tag] = letters[value < 0]
        whole = abs(value)
        minutes = (whole % 1) * 60
        gps[tag + 1] = (float(int(whole)), float(int(minutes)), round((minutes % 1) * 60, 2))


def write(pixels, row, path):
    """Save upright BGR pixels in the format of the path's suffix, stored with the plan's turn."""
    seed = zlib.crc32(row["file"].encode())
    look = row.get("finish", {})
    upright = Image.fromarray(phone(pixels, seed, look.get("dark", 0.0), look.get("shake", 0.0))[..., ::-1].copy())
    turn = TURNS[row["exif"].get("orientation", 1)]
    stored = upright.transpose(turn) if turn is not None else upright
    block = exif(row, stored.size)
    if path.suffix == ".heic":
        import pillow_heif

        pillow_heif.from_pillow(stored).save(str(path), quality=62, exif=block.tobytes())
    elif path.suffix == ".png":
        stored.save(path, optimize=True, exif=block.tobytes())
    else:
        stored.save(path, quality=look.get("quality", 84), exif=block.tobytes(), subsampling=2, optimize=True)
