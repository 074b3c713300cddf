"""Baked textures: noise, wear, planks, a shed to reflect, tally cards. Numpy and OpenCV only, fixed seeds."""

from __future__ import annotations

import os
from pathlib import Path

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

MAPS = Path(os.environ.get("SAMPLE_PHOTO_MAPS", Path(__file__).parent / "maps"))
CARD_PX_PER_MM = 20

# width, height, marker, outer width, outer height: millimetres
CARDS = {"a6": (148.0, 105.0, 24.5, 140.0, 97.0), "credit": (85.6, 54.0, 14.0, 80.0, 48.0)}


def spectrum_noise(rng, size, slope, low=4.5, high=900.0):
    """One square field of band-limited 1/f noise that tiles, mean 0, deviation 1."""
    f = np.fft.fftfreq(size) * size
    k = np.hypot(*np.meshgrid(f, f, indexing="ij"))
    amplitude = np.where(k >= low, np.maximum(k, 1) ** -(1 + slope), 0) * np.exp(-((k / high) ** 4))
    field = np.fft.ifft2(amplitude * np.exp(2j * np.pi * rng.random((size, size)))).real
    return (field - field.mean()) / field.std()


def bake_noise(path):
    """Four independent noise channels, 16 bit."""
    rng = np.random.default_rng(1957)
    channels = [np.clip(0.5 + 0.115 * spectrum_noise(rng, 2048, 0.62), 0, 1) for _ in range(4)]
    cv2.imwrite(str(path), (np.stack(channels, -1) * 65535).astype(np.uint16))


def _scratches(rng, n, count):
    layer = np.zeros((n, n), np.uint8)
    for _ in range(count):
        start = rng.uniform(0, n, 2)
        angle = rng.normal(0, 0.5) if rng.random() < 0.6 else rng.uniform(0, np.pi)
        length = rng.exponential(90) + 12
        t = np.linspace(0, length, 16)
        heading = angle + rng.normal(0, 0.0016) * t
        steps = np.c_[np.cumsum(np.cos(heading)), np.cumsum(np.sin(heading))] * length / 16
        width = 1 if rng.random() < 0.88 else int(rng.integers(2, 4))
        ink = int(rng.uniform(40, 230))
        cv2.polylines(layer, [np.int32((start + steps) * 16)], False, ink, width, cv2.LINE_AA, 4)
    return layer


def _blots(rng, n, count):
    layer = np.zeros((n // 4, n // 4), np.float32)
    for _ in range(count):
        one = np.zeros_like(layer)
        th = np.linspace(0, 2 * np.pi, 90, endpoint=False)
        wobble = sum(rng.normal(0, 0.2 / (j + 1)) * np.cos((j + 1) * th + rng.uniform(0, 6)) for j in range(9))
        outline = (
            rng.uniform(0, n / 4, 2)
            + np.c_[np.cos(th), np.sin(th)] * ((rng.exponential(11) + 1.5) * (1 + 1.3 * wobble))[:, None]
        )
        cv2.fillPoly(one, [np.int32(outline)], 1.0)
        layer = np.maximum(layer, cv2.GaussianBlur(one, (0, 0), rng.uniform(3, 9)) * rng.uniform(0.3, 0.95))
    return (cv2.resize(layer, (n, n)) * 255).clip(0, 255).astype(np.uint8)


def _flecks(rng, n, count):
    layer = np.zeros((n, n), np.uint8)
    for _ in range(count):
        th = np.linspace(0, 2 * np.pi, 24, endpoint=False)
        r = (rng.exponential(2.2) + 0.8) * (1 + 0.35 * np.cos(th * rng.integers(1, 4) + rng.uniform(0, 6)))
        pts = rng.uniform(0, n, 2) + np.c_[np.cos(th) * r * rng.uniform(0.7, 2.2), np.sin(th) * r]
        cv2.fillPoly(layer, [np.int32(pts * 16)], int(rng.uniform(90, 255)), cv2.LINE_AA, 4)
    return layer


def bake_wear(path):
    """Scratches (blue), blots (green) and flecks (red) in one picture."""
    rng = np.random.default_rng(7)
    n = 4096
    cv2.imwrite(str(path), cv2.merge([_scratches(rng, n, 2600), _blots(rng, n, 38), _flecks(rng, n, 300)]))


def _plank(rng, width=4096, height=576, px_mm=4.0):
    """Greyscale growth rings of one flat-sawn board, 0 dark to 1 pale, with knots."""
    x, y = np.meshgrid(np.arange(width) / px_mm, np.arange(height) / px_mm)
    slow = cv2.resize(rng.normal(0, 1, (6, 14)).astype(np.float32), (width, height), interpolation=cv2.INTER_CUBIC)
    depth = rng.uniform(14, 45) + (x - 500) * rng.uniform(-0.03, 0.03) + slow * 3.0
    r = np.hypot(y - rng.uniform(35, 110) + slow * 2.0, depth)
    knots = np.zeros_like(r)
    for _ in range(int(rng.integers(0, 3))):
        kx, ky, size = rng.uniform(80, 940), rng.uniform(20, 120), rng.uniform(6, 12)
        d = np.hypot((x - kx) / 1.7, y - ky)
        r = r + size * 2.2 * np.exp(-((d / (size * 2.0)) ** 1.3))
        knots = np.maximum(knots, np.clip(1.25 - d / (size * 0.6), 0, 1))
    fine = cv2.GaussianBlur(rng.normal(0, 1, (height, width)).astype(np.float32), (0, 0), sigmaX=40, sigmaY=0.7)
    fine /= fine.std()
    phase = (r / rng.uniform(3.2, 5.0) + fine * 0.05) % 1.0
    late = np.clip(phase, 0, 1) ** 3.2 * np.clip((1 - phase) / 0.10, 0, 1)
    pores = cv2.GaussianBlur((rng.random((height, width)) > 0.9975).astype(np.float32), (0, 0), sigmaX=7, sigmaY=0.5)
    tone = 0.78 - 0.42 * late + 0.055 * fine - np.clip(pores * 9, 0, 0.3) - 0.5 * knots
    return np.clip(tone, 0, 1)


def bake_planks(path):
    """Four boards stacked in one grey picture, 1024 mm long, 144 mm wide each."""
    rng = np.random.default_rng(31)
    cv2.imwrite(str(path), (np.vstack([_plank(rng) for _ in range(4)]) * 255).astype(np.uint8))


SYLLABLES = ("ven", "tor", "mal", "dri", "lon", "bar", "eth", "sun", "per", "ati", "gol", "rem", "isk", "ula", "cor")


def _word(rng):
    """A word of no language."""
    word = "".join(rng.choice(SYLLABLES, int(rng.integers(1, 4))))
    return word.capitalize() if rng.random() < 0.12 else word


def _line_of_type(rng, draw, x, y, wide, tall, pen=0):
    """One line of printed nonsense, words until the measure is full; `pen` thickens it to a heading."""
    font, line = ImageFont.load_default(tall), _word(rng)
    while True:
        longer = f"{line} {_word(rng)}"
        if draw.textlength(longer, font) > wide:
            break
        line = longer
    draw.text((x, y), line, 0, font, stroke_width=pen, stroke_fill=0)


def bake_newsprint(path):
    """A page: headings, five columns of type, two halftone pictures of nothing, rules between."""
    rng = np.random.default_rng(1958)
    page = Image.new("L", (2660, 3920), 255)
    draw = ImageDraw.Draw(page)
    _line_of_type(rng, draw, 120, 130, 2400, 116, 5)
    draw.line([(100, 290), (2560, 290)], 0, 4)
    for column in range(5):
        x, y = 110 + column * 495, 330
        while y < 3780:
            if rng.random() < 0.035 and y < 3300:
                for _ in range(2):
                    _line_of_type(rng, draw, x, y, 450, 46, 2)
                    y += 54
                y += 12
            _line_of_type(rng, draw, x, y, 460 if rng.random() < 0.9 else int(rng.uniform(120, 400)), 21)
            y += 24
        draw.line([(x + 474, 330), (x + 474, 3780)], 90, 2)
    sheet = np.array(page)
    for x, y, w, h in ((605, 700, 940, 700), (1595, 2300, 940, 620)):
        tone = cv2.resize(rng.random((5, 7)).astype(np.float32), (w, h), interpolation=cv2.INTER_CUBIC)
        dots = 0.5 + 0.5 * np.outer(np.sin(np.arange(h) * 0.9), np.sin(np.arange(w) * 0.9))
        sheet[y - 14 : y + h + 14, x - 10 : x + w + 10] = 255
        sheet[y : y + h, x : x + w] = np.where(dots > tone.clip(0.15, 0.9), 40, 250)
    cv2.imwrite(str(path), cv2.GaussianBlur(sheet, (0, 0), 1.1))


def bake_shed(path):
    """What metal reflects: a dim workshop all round with a window, shelves, a door and a pale ceiling."""
    rng = np.random.default_rng(90)
    h, w = 512, 1024
    sky = np.zeros((h, w, 3), np.float32)
    sky[:] = (0.10, 0.11, 0.12)
    sky[:150] = (0.30, 0.33, 0.36)
    sky[150:165] = (0.05, 0.05, 0.06)
    sky[300:] = (0.045, 0.05, 0.06)
    for shelf in range(4):
        y = 175 + shelf * 32
        x = 40
        while x < 420:
            wide, tall = int(rng.integers(8, 34)), int(rng.integers(10, 26))
            sky[y + 28 - tall : y + 28, x : x + wide] = rng.uniform(0.03, 0.22) * rng.uniform(0.75, 1.0, 3)
            x += wide + int(rng.integers(0, 6))
        sky[y + 28 : y + 31, 30:430] = (0.03, 0.05, 0.08)
    sky[170:330, 820:900] = (0.04, 0.07, 0.06)
    sky[176:324, 826:894] = (0.10, 0.16, 0.15)
    for pane in range(4):
        px, py = 560 + (pane % 2) * 62, 160 + (pane // 2) * 62
        sky[py : py + 56, px : px + 56] = (3.4, 3.0, 2.7)
    sky[96:104, 180:330] = (2.0, 2.6, 2.9)
    grain = cv2.resize(rng.normal(1, 0.18, (64, 128, 1)).astype(np.float32), (w, h), interpolation=cv2.INTER_CUBIC)
    cv2.imwrite(str(path), cv2.GaussianBlur(sky * grain[..., None].clip(0.3, 2), (0, 0), 1.6))


def bake_card(path, size, tally):
    """A tally card as measuring defines it: four 5x5 markers, four greys, its number."""
    wide, high, marker, _outer_w, _outer_h = CARDS[size]
    s = CARD_PX_PER_MM
    card = np.full((round(high * s), round(wide * s)), 255, np.uint8)
    words = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)
    side = round(marker * s)
    for corner, (x, y) in enumerate(card_origins(size)):
        px, py = round(x * s), round(y * s)
        card[py : py + side, px : px + side] = cv2.aruco.generateImageMarker(words, 4 * tally + corner, side)
    patch = 12.0 if size == "a6" else 6.5
    for k, reflectance in enumerate((0.05, 0.18, 0.40, 0.85)):
        x0, y0 = wide / 2 + (k - 2) * patch, high - (18 if size == "a6" else 9.5)
        grey = 1.055 * reflectance ** (1 / 2.4) - 0.055
        card[round(y0 * s) : round((y0 + patch * 0.9) * s), round(x0 * s) : round((x0 + patch) * s)] = round(grey * 255)
    picture = Image.fromarray(card)
    draw = ImageDraw.Draw(picture)
    tall = 26 if size == "a6" else 17
    draw.text(
        (wide / 2 * s, high * (0.36 if size == "a6" else 0.4) * s),
        str(tally),
        0,
        ImageFont.load_default(tall * s),
        "mm",
    )
    draw.text((wide / 2 * s, high * 0.65 * s), f"tally {tally}", 60, ImageFont.load_default(4 * s), "mm")
    picture.save(path)


def card_origins(size):
    """Upper-left corner of the four markers, mm from the card's upper left, y downwards, in corner order."""
    wide, high, marker, outer_w, outer_h = CARDS[size]
    left, top = (wide - outer_w) / 2, (high - outer_h) / 2
    right, low = left + outer_w - marker, top + outer_h - marker
    return [(left, top), (right, top), (right, low), (left, low)]


def baked(name):
    """Path of a map, baking it the first time it is asked for."""
    bakers = {"noise": bake_noise, "wear": bake_wear, "planks": bake_planks, "newsprint": bake_newsprint}
    MAPS.mkdir(parents=True, exist_ok=True)
    if name == "shed":
        path, bake = MAPS / "shed.hdr", bake_shed
    elif name.startswith("card-"):
        _, size, tally = name.split("-")
        path, bake = MAPS / f"{name}.png", lambda p: bake_card(p, size, int(tally))
    else:
        path, bake = MAPS / f"{name}.png", bakers[name]
    if not path.exists():
        bake(path)
    return str(path)


if __name__ == "__main__":
    for each in ("noise", "wear", "planks", "newsprint", "shed", "card-a6-1"):
        print(baked(each))
