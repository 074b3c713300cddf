"""Odds and ends lying about: washers, nuts, bolts, split pins, a pencil, a rag, a tin and its lid, grit."""

from __future__ import annotations

import math
import random

import numpy as np
import solids
from benches import carton_skin
from materials import plain, steel
from mathutils import Matrix
from nodes import material
from solids import MM
from stage import Subject, place


def _washer(r, mat):
    return [solids.ring(r.uniform(7.5, 9.5), r.uniform(3.3, 4.3), 1.5, mat=mat, bevel=0.2)]


def _nut(r, mat):
    return [solids.nut(r.choice((10.4, 11.4, 13.2)), 6.6, 6.4, mat)]


def _bolt(r, mat):
    return solids.bolt(7.9, 0.98, r.uniform(22, 40), 13.3, 5.4, mat, r.randrange(99))


def _screw(r, mat):
    head = solids.revolve(
        [(0, 0), (4.6, 0), (4.6, 0.8), (3.6, 2.4), (2, 3.1), (0, 3.3)], mat, 40, (0, 0, 0), (180, 0, 0)
    )
    solids.cut(head, [solids.move(solids.plate(solids.box_outline(11, 1.2, 0.1), [], 3, 0.05), (0, 0, -4.9))])
    return [head, *solids.thread(4.8, 0.8, r.uniform(14, 26), mat)]


def _pencil(r, mat):
    path = [np.array((x, 0, 0.0)) for x in (0, 118)]
    body = solids.tube(
        path,
        3.7,
        plain(r.randrange(50), r.choice(((0.30, 0.20, 0.03), (0.02, 0.09, 0.05), (0.25, 0.03, 0.02))), 0.35, part=0),
        6,
    )
    wood = solids.tube([(118, 0, 0), (129, 0, 0.0)], [3.4, 1.0], plain(3, (0.40, 0.26, 0.14), 0.8, part=0), 16)
    lead = solids.tube([(129, 0, 0), (132.5, 0, 0.0)], [1.0, 0.25], plain(4, (0.03, 0.03, 0.032), 0.4, part=0), 12)
    return [body, wood, lead]


def _rag(r, mat):
    rng = np.random.default_rng(r.randrange(9999))
    cloth, n = material("rag", r.randrange(50))
    x, y, _ = n.axes(n.coords())
    weave = n.mul(n.math("SINE", n.mul(x, 5600)), n.math("SINE", n.mul(y, 5600)))
    stain = n.mul(n.step(n.add(n.mul(n.noise(9), 0.8), n.mul(n.noise(70), 0.2)), 0.47, 0.60), 0.8)
    shade = r.choice(((0.20, 0.22, 0.25), (0.28, 0.25, 0.20), (0.10, 0.14, 0.20)))
    n.finish(
        {"part": 0.0},
        base_color=n.mix(stain, shade, (0.035, 0.028, 0.022)),
        roughness=0.95,
        normal=n.bump(weave, 0.0004),
    )
    u, v = np.meshgrid(np.linspace(-1, 1, 170), np.linspace(-1, 1, 170), indexing="ij")
    z = sum(
        np.clip(np.sin(f * (u * math.cos(t) + v * math.sin(t)) + 0.8 * np.sin(1.7 * v + t * 3) + p), 0, 1) ** 1.6
        / f**0.8
        for f, t, p in rng.uniform((1.5, 0, 0), (6.5, 3.14, 6.28), (14, 3))
    )
    z = (z / z.max()) * 34 * np.clip(1.15 - np.maximum(np.abs(u), np.abs(v)) ** 6, 0.12, 1)
    pull = 1 - 0.16 * z / 34
    points = np.stack([(u * 105 + 10 * np.sin(v * 3)) * pull, (v * 88 + 9 * np.sin(u * 4)) * pull, z], -1)
    return [solids.mesh("rag", points.reshape(-1, 3), solids.quads(170, 170), cloth, 180)]


def _lid(r, mat):
    return [
        solids.revolve(
            [(0, 0), (0, 0.6), (33, 0.6), (35.4, 3), (35.4, 9), (36.2, 9.6), (37, 9), (36.4, 2), (34, 0)], mat, 96
        )
    ]


def _tin(r, mat):
    """An open food tin without its label, a lid's edge bright, rust within."""
    wall = [(35.5, 0), (36.2, 0.6), (36.2, 2)]
    for z in np.linspace(14, 66, 40):
        wall.append((35.6 + 0.35 * math.sin(z * 1.3), z))
    wall += [(36.2, 78), (36.6, 79), (36.2, 80), (35.6, 79.4), (35.2, 70), (35.1, 1.2), (0, 1.0), (0, 0), (35.5, 0)]
    return [solids.revolve(wall, steel(r.randrange(60), 0.16, 26, 0.42, 0.30, 0.3, 0.15, part=0.0), 120)]


def _edge(r, mat):
    """A corner of a carton standing behind: two walls."""
    skin = carton_skin(r.randrange(40))
    back = solids.plate([(0, 0), (420, 0), (420, 190), (0, 190)], [], 4, 0.6, skin, turn=(90, 0, 0))
    side = solids.plate([(0, 0), (300, 0), (300, 190), (0, 190)], [], 4, 0.6, skin, turn=(90, 0, 90))
    return [back, side]


def _pin(r, mat):
    path = [(x, 1.1 + 0.4 * math.sin(x / 4), 0.0) for x in np.linspace(0, 28, 14)]
    loop = [(28 + 5 * math.sin(t), 3.6 * math.cos(t) * -1, 0.0) for t in np.linspace(2.6, 0.3, 12)]
    back = [(x, -1.1 - 0.03 * (28 - x), 0.0) for x in np.linspace(27, 4, 12)]
    return [solids.tube(np.array(path + loop + back), 0.95, mat, 12)]


MAKERS = {
    "washer": _washer,
    "nut": _nut,
    "bolt": _bolt,
    "screw": _screw,
    "pencil": _pencil,
    "rag": _rag,
    "lid": _lid,
    "pin": _pin,
    "tin": _tin,
    "edge": _edge,
}


def scatter(items, seed):
    """Lay out [kind, x, y] or [kind, x, y, yaw] in mm."""
    r = random.Random(seed)
    for kind, x, y, *yaw in items:
        if kind == "grit":
            _grit(r, x, y, yaw[0] if yaw else 60)
            continue
        mat = steel(r.randrange(60), r.choice((0.3, 0.55, 0.8)), 40, r.choice((0.25, 0.34)), part=0.0)
        lie = (0, 90, 0) if kind in ("bolt", "screw") else (0, 0, 0)
        subject = Subject(MAKERS[kind](r, mat))
        place(subject, (0, 0), lie, settle=kind not in ("rag", "lid", "tin", "edge"))
        turn = Matrix.Translation((x * MM, y * MM, 0)) @ Matrix.Rotation(
            math.radians(yaw[0] if yaw else r.uniform(0, 360)), 4, "Z"
        )
        for each in subject.objects:
            each.matrix_world = turn @ subject.frame


def _grit(r, x, y, spread):
    rust, dirt = plain(8, (0.10, 0.042, 0.018), 0.95, part=0), plain(9, (0.04, 0.035, 0.03), 0.9, part=0)
    for mat in (rust, dirt):
        points, faces = [], []
        for _ in range(130):
            angle, far, size = r.uniform(0, 6.283), abs(r.gauss(0, spread)), r.expovariate(2.2) * 0.6 + 0.15
            middle = np.array((x + far * math.cos(angle), y + far * math.sin(angle), size * 0.25))
            start = len(points)
            shape = [(1, 0, 0), (0, 1, 0), (-1, 0.2, 0), (0, -1, 0.1), (0, 0, 0.5)]
            points += [middle + np.array(s) * size * r.uniform(0.5, 1.2) for s in shape]
            faces += [(start + a, start + (a + 1) % 4, start + 4) for a in range(4)]
        solids.mesh("grit", points, faces, mat, 10)
