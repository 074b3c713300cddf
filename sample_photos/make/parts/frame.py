"""Frame, footrests, springs, carrier: welded tube, rubber, spring wire, strap."""

from __future__ import annotations

import itertools
import math

import numpy as np
from materials import painted, rubber
from mathutils import Matrix
from solids import cut, fuse, mesh, plate, quads, rod, weight
from stage import Subject

BLACK = (0.012, 0.012, 0.013)
HEAD = 128.0


def _direction(angle):
    return np.array((math.sin(math.radians(angle)), 0, math.cos(math.radians(angle))))


def _crack_line(rng):
    corners = np.array([(14.5, -47), (9.5, -38), (11, -31), (5.5, -22), (7, -14), (2.0, -5), (3.5, 3)], float)
    fine = [corners[0]]
    for p, q in itertools.pairwise(corners):
        fine += [p + (q - p) * s + rng.normal(0, 0.32, 2) for s in np.linspace(0.125, 1, 8)]
    return np.array(fine)


def _near_line(points, line, reach):
    """1 on the crack to 0 at `reach` mm from it; the crack gapes at its start and closes to a hair at its end."""
    best = np.full(len(points), 1e9)
    for i, (p, q) in enumerate(itertools.pairwise(line)):
        v = q - p
        t = np.clip(((points - p) @ v) / (v @ v), 0, 1)
        gape = 0.5 * (1 - i / len(line)) ** 0.8
        best = np.minimum(best, np.linalg.norm(points - p - t[:, None] * v, axis=1) - gape)
    return np.clip(1 - best / reach, 0, 1)


def head_lug():
    """The steering head with stubs of top and down tube sawn off, cracked from the lower socket upward."""
    solids = [rod(19, HEAD, (0, 0, -HEAD / 2))]
    cuts = [rod(16.2, HEAD + 20, (0, 0, -HEAD / 2 - 10), bevel=0)]
    for z, angle, r, length, socket in ((36, 84, 14.2, 118, 54), (-30, 128, 15.2, 126, 56)):
        solids += [rod(r, length, (0, 0, z), (0, angle, 0)), rod(r + 2.2, socket, (0, 0, z), (0, angle, 0))]
        cuts.append(rod(r - 2.0, 75, _direction(angle) * 74 + (0, 0, z), (0, angle, 0), bevel=0))
    for z, h, r in ((-HEAD / 2, 14, 23), (HEAD / 2 - 14, 14, 23), (14, 44, 21.4), (-54, 44, 21.4)):
        solids.append(rod(r, h, (0, 0, z)))
    web = plate([(8, -24), (70, 12), (66, 28), (8, 24)], [], 7, 1)
    web.data.transform(Matrix.Rotation(math.pi / 2, 4, "X"))
    web.data.transform(Matrix.Translation((0, 0.0035, 0)))
    body = cut(fuse([*solids, web], 0.6, 5), cuts, 55)
    line = _crack_line(np.random.default_rng(3))
    weight(body, "crack", lambda p: _near_line(p[:, [0, 2]], line, 5.0) * (p[:, 1] < 0))
    weight(
        body,
        "rusty",
        lambda p: (
            0.11 * np.exp(-(((np.abs(p[:, 2]) - 62) / 5) ** 2)) + 0.14 * np.clip((p[:, 0] - 80) / 25, 0, 1) - 0.05
        ),
    )
    body.data.materials.clear()
    body.data.materials.append(painted(14, BLACK, 0.31, 26, 0.16, 0.2, 0.2, crack=True))

    def skin(x, z):
        return (x, -math.sqrt(max(1.0, 21.4**2 - x * x)), z)

    points = {
        "crack start": skin(*line[0]),
        "crack end": skin(*line[-1]),
        "crack middle": skin(*line[24]),
        "sawn": tuple(_direction(128) * 122 + (0, -15.1, -30)),
        "top": (0, -23, HEAD / 2),
        "bottom": (0, -23, -HEAD / 2),
    }
    holes = {"head bore top": ((0, 0, HEAD / 2), 32.4), "head bore bottom": ((0, 0, -HEAD / 2), 32.4)}
    long = float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
    return Subject(
        [body],
        points,
        holes,
        [("head tube", "top", "bottom"), ("crack end to end", "crack start", "crack end")],
        {"crack_along_mm": round(long, 1)},
    )


def footrest_rubber(seed=1, worn=0.6):
    """A ribbed footrest rubber with a flanged end, perished, a piece torn from its flange."""
    rng = np.random.default_rng(seed)
    n, rows = 420, 240
    th, z = np.linspace(0, 2 * math.pi, n, endpoint=False), np.linspace(0, 96, rows)
    rib = np.clip(np.cos(th * 16) * 1.6 + 0.35, -1, 1)[None] * 1.7
    body = np.interp(z, (0, 1.5, 5.5, 8, 93, 96), (20.5, 22, 22, 17.2, 16.6, 15.2))[:, None]
    flat = np.clip((z[:, None] - 8) / 4, 0, 1) * np.clip((95 - z[:, None]) / 2, 0, 1)
    wear = 1.5 * np.exp(-(((th[None] - 1.6) / 0.7) ** 2)) * np.exp(-(((z[:, None] - 52) / 30) ** 2))
    r = body + rib * flat - wear * flat + 0.12 * rng.normal(size=(rows, 1)) * 0.3
    bite = np.clip(1 - np.hypot((th[None] - 2.3) * 20, (z[:, None] - 1) * 1.3) / 9, 0, 1)
    r = r - 5.2 * bite**0.6 * (1 + 0.12 * rng.normal(size=(1, n)))
    bend = 3.0 * np.sin(z / 96 * math.pi)[:, None]
    outer = np.stack([r * np.cos(th) + bend, r * np.sin(th) * 0.94, np.broadcast_to(z[:, None], r.shape)], -1)
    inner = np.stack(
        [
            np.broadcast_to(9 * np.cos(th) + bend, r.shape),
            np.broadcast_to(9 * np.sin(th), r.shape),
            np.broadcast_to(z[:, None], r.shape),
        ],
        -1,
    )
    loop = np.concatenate([outer, inner[::-1]])
    mat = rubber(seed, worn, True)
    rusty = (
        np.concatenate([0.10 * np.exp(-(((z - 3) / 8) ** 2)) + 0.05 * rng.normal(), 0 * z])[:, None]
        + 0.12 * np.exp(-(((th - 1.6) / 0.9) ** 2))[None]
    )
    made = mesh("rubber", loop.reshape(-1, 3), quads(2 * rows, n, True, True), mat, 55, rusty=rusty)
    tear = (19 * math.cos(2.3), 18 * math.sin(2.3), 2)
    return Subject(
        [made],
        {"outer end": (0, 0, 96), "flange end": (0, 0, 0), "tear": tear},
        {"bore": ((0, 0, 96), 18.0)},
        [("length", "flange end", "outer end")],
        {"rubber_length_mm": 96},
    )
