"""Wheels, drive and controls: sprocket, clutch lever."""

from __future__ import annotations

import math

import numpy as np
from materials import chrome, steel
from solids import box_outline, circle, cut, fuse, mesh, plate, quads, revolve, rod
from stage import Subject

TEETH, CHAIN = 46, 12.7


def _tooth(rng, radius):
    """One worn gap and tooth as (sideways, outward) from the pitch circle: seat stretched, tip hooked over."""
    w, tall, roller = rng.uniform(0.75, 1.2), rng.uniform(0.85, 1.04), 4.3
    seat = [
        (-roller * math.cos(t) - 0.5 * w * max(0.0, math.cos(t)), -roller * math.sin(t))
        for t in np.linspace(0.28, math.pi - 0.16, 14)
    ]
    flank = [(roller + 0.3, 0.2), (roller + 0.55 + 0.3 * w, 1.9), (CHAIN / 2 - 1.0 + 0.85 * w, 4.2 * tall)]
    tip = [
        (CHAIN / 2 - 0.25 + 1.1 * w, 4.75 * tall),
        (CHAIN / 2 + 0.5 + w, 4.6 * tall),
        (CHAIN / 2 + 1.05 + 0.75 * w, 3.3 * tall),
        (CHAIN / 2 + 1.2 + 0.3 * w, 1.6),
    ]
    return seat + flank + tip


def sprocket():
    """Rear sprocket, 46 teeth for half-inch chain, every tooth hooked the way it pulled."""
    rng = np.random.default_rng(1)
    radius = CHAIN / 2 / math.sin(math.pi / TEETH)
    outline = []
    for i in range(TEETH):
        for side, out in _tooth(rng, radius):
            a = 2 * math.pi * i / TEETH + side / radius
            outline.append(((radius + out) * math.cos(a), (radius + out) * math.sin(a)))
    holes = {"centre": ((0, 0, 6.2), 64.0)}
    for i in range(6):
        a = math.radians(30 + 60 * i)
        holes[f"bolt {i + 1}"] = ((41 * math.cos(a), 41 * math.sin(a), 6.2), 8.4)
    for i in range(6):
        a = math.radians(60 * i)
        holes[f"lightening {i + 1}"] = ((66 * math.cos(a), 66 * math.sin(a), 6.2), 26.0)
    mat = steel(6, 0.46, 20, 0.22, grime=0.75, dust=0.2)
    body = plate(np.array(outline)[::-1], [circle(p[0], p[1], d, 96) for p, d in holes.values()], 6.2, 0.3, mat)
    body.data.materials.append(steel(2, 0.12, 30, 0.42, 0.28, grime=0.35, dust=0))
    for face in body.data.polygons:
        c = face.center * 1000
        if abs(face.normal.z) < 0.5 and math.hypot(c.x, c.y) > radius - 5.0:
            face.material_index = 1
    a = 2 * math.pi * 33.5 / TEETH
    points = {"worn tooth": ((radius + 2.5) * math.cos(a), (radius + 2.5) * math.sin(a), 6.2)} | {
        name: p for name, (p, _) in holes.items() if name.startswith("bolt")
    }
    return Subject(
        [body],
        points,
        holes,
        [("bolt circle", "bolt 1", "bolt 4")],
        {"teeth": TEETH, "chain_pitch_mm": CHAIN, "pitch_diameter_mm": round(2 * radius, 2), "bolt_circle_mm": 82.0},
    )


def _blade(path, wide, thick, mat):
    """A bar of rounded oblong section along a flat path; wide in the path's plane, thick across it."""
    along = np.gradient(path, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    side = np.stack([-along[:, 1], along[:, 0], 0 * along[:, 0]], -1)
    th = np.linspace(0, 2 * math.pi, 48, endpoint=False)
    c, s = np.sign(np.cos(th)) * np.abs(np.cos(th)) ** 0.75, np.sign(np.sin(th)) * np.abs(np.sin(th)) ** 0.75
    points = (
        path[:, None]
        + side[:, None] * (c[None] * wide[:, None] / 2)[..., None]
        + np.array((0, 0, 1.0)) * (s[None] * thick[:, None] / 2)[..., None]
    )
    faces = [
        *quads(len(path), 48, wrap_m=True, flip=True).tolist(),
        list(range(48)),
        list(range((len(path) - 1) * 48, len(path) * 48))[::-1],
    ]
    return mesh("blade", points.reshape(-1, 3), faces, mat, 50)


def clutch_lever():
    """Clutch lever on its half-clamp bracket, the blade bent out of its curve beyond the middle."""
    s = np.linspace(0, 1, 160)
    x = 6 + 158 * s
    y = -24 * s**1.7 + 12 * np.sin(s * math.pi * 0.9) + 34 * np.clip(s - 0.56, 0, 1) ** 1.2 * 4.2
    z = 8.0 - 1.5 * np.clip(s - 0.55, 0, 1) * 9
    path = np.stack([x, y, z], -1)
    wide = np.interp(s, (0, 0.1, 0.35, 0.9, 1), (17, 15, 12.5, 9.5, 9))
    mat = chrome(8, 0.36, 26, 0.3)
    solids = [
        _blade(path, wide, np.interp(s, (0, 0.2, 1), (9, 8, 6.4)), None),
        rod(10.5, 9, (0, 0, 3.5)),
        rod(8.5, 9, (14, 12, 3.5)),
    ]
    ball = [(8.2 * math.sin(t), -8.2 * math.cos(t)) for t in np.linspace(0, math.pi, 30)]
    solids.append(revolve(ball, None, 64, tuple(path[-1] + (3, 1.5, 0))))
    lever = fuse(solids, 0.5, 4, mat)
    cut(lever, [rod(3.2, 40, (0, 0, -10), bevel=0), rod(4.1, 40, (14, 13, -10), bevel=0)])
    points = {
        "pivot": (0, 0, 12.5),
        "nipple": (14, 13, 12.5),
        "ball": tuple(path[-1] + (3, 1.5, 8)),
        "bend": tuple(path[104] + (0, 0, 4)),
    }
    return Subject(
        [lever, *_bracket()],
        points,
        {"nipple": ((14, 13, 12.5), 8.2)},
        [("pivot to nipple", "pivot", "nipple"), ("pivot to ball", "pivot", "ball")],
        {},
    )


def _bracket():
    mat, dull = chrome(4, 0.5, 24, 0.35), steel(9, 0.5, 40)
    cheek = np.array([(-13, -14), (8, -11), (11, 0), (8, 10), (-4, 12), (-26, 30), (-44, 30), (-44, -16)])
    solids = [plate(cheek, [], 3, 0.5, at=(0, 0, z)) for z in (0.2, 12.8)]
    solids += [
        plate([(-46, -18), (-22, -16), (-22, 24), (-46, 32)], [], 16, 1, at=(0, 0, 0)),
        rod(7.5, 16, (-30, 30, 8), (0, 90, 90)),
    ]
    body = fuse(solids, 0.6, 3, mat)
    cut(
        body,
        [
            rod(11.1, 60, (-52, 6, 8), (90, 0, 0), bevel=0),
            rod(11.1, 60, (-52, 60, 8), (90, 0, 0), bevel=0),
            rod(3.4, 60, (-30, 20, 8), (-90, 0, 0), bevel=0),
        ],
    )
    head = rod(6.2, 3.2, (0, 0, 15.8), mat=dull, bevel=0.8)
    cut(head, [plate(box_outline(20, 1.4, 0.1), [], 3, 0.05, at=(0, 0, 17.4), turn=(0, 0, 35))])
    return [body, head, rod(3.1, 16, (0, 0, 0), mat=dull)]
