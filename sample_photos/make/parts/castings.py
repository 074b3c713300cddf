"""More engine castings: crankcase half, piston, cylinder head."""

from __future__ import annotations

import math

import numpy as np
from materials import alloy, fracture, plain, steel
from scipy.spatial import ConvexHull
from solids import (
    circle,
    cut,
    dense,
    fuse,
    mesh,
    move,
    orient,
    plate,
    quads,
    reshape,
    revolve,
    ring,
    rod,
    thread,
    tube,
    weight,
)
from stage import Subject

DRAIN, DRAIN_PITCH = 12.7, 25.4 / 16
BOSSES = [(-58, 34), (-20, 66), (30, 58), (84, 44), (116, 8), (100, -34), (48, -46), (0, -62), (-50, -42), (-68, -4)]


def _outline(grow):
    cloud = np.vstack([circle(0, 0, 124 + 2 * grow, 120), circle(78, 4, 84 + 2 * grow, 90)])
    return cloud[ConvexHull(cloud).vertices]


def _inner_thread(d, pitch, depth, mat, ruin, rng):
    """The thread seen down a hole; `ruin` 0 sound to 1 torn out."""
    n, rows = 90, int(depth / pitch * 14)
    z, th = np.linspace(0, -depth, rows), np.linspace(0, 2 * math.pi, n, endpoint=False)
    wave = np.abs((z[:, None] / pitch - th[None] / (2 * math.pi)) % 1 - 0.5) * 2
    torn = np.clip(ruin * 1.6 - 0.5 * np.sin(th + 1)[None] - 0.4 * (np.abs(z) / depth)[:, None], 0, 1)
    ragged = np.cumsum(rng.normal(0, 0.05, (rows, n)), axis=1) * torn
    r = d / 2 - 0.6134 * pitch * np.clip((wave - 0.12) / 0.8, 0, 1) * (1 - 0.85 * torn) + np.clip(ragged, -0.25, 0.25)
    points = np.stack([r * np.cos(th), r * np.sin(th), np.broadcast_to(z[:, None], r.shape)], -1)
    return mesh("inner thread", points.reshape(-1, 3), quads(rows, n, wrap_m=True), mat, 70)


def _strands(rng, mat, top):
    """Alloy picked out of the thread, curling from the hole."""
    made = []
    for start, rise, length in ((0.4, 2.6, 2.2), (2.7, 1.6, 1.5), (4.4, 3.4, 1.2)):
        t = np.linspace(0, 1, 40)
        a = start + t * length
        r = DRAIN / 2 - 0.7 + 2.0 * t * np.sin(3 * t + start)
        path = np.c_[r * np.cos(a), r * np.sin(a), top - 0.6 + rise * t**0.8 + 0.5 * np.sin(9 * t + start)]
        made.append(tube(path, 0.42 * (1.05 - t * 0.8) + 0.05 * rng.random(40), mat, 8))
    return made


def _case(mat):
    wall = plate(_outline(5), [_outline(-1)], 42, 0.6)
    floor = plate(_outline(4), [], 8, 1)
    solids = [wall, floor, rod(31, 24, (0, 0, 0)), rod(22, 20, (62, 14, 0)), rod(15, 20, (94, -12, 0))]
    solids += [rod(7.5, 42, (x, y, 0)) for x, y in BOSSES]
    for k in range(5):
        solids.append(plate([(24, -2), (62, -2), (62, 2), (24, 2)], [], 16, 1, turn=(0, 0, 40 + 72 * k)))
    solids += [orient(rod(13, 17), (34, -58, 20), (1, 0, 0), (0, 0, 1))]
    body = fuse(solids, 0.8, 4, mat)
    tools = [
        rod(23.5, 40, (0, 0, 9), bevel=0, n=96),
        rod(12, 60, (0, 0, -5), bevel=0),
        rod(16, 30, (62, 14, 8), bevel=0),
        rod(9, 30, (94, -12, 6), bevel=0),
    ]
    tools += [rod(3.0, 60, (x, y, 6), bevel=0, n=32) for x, y in BOSSES]
    return cut(body, tools)


def _joint(mat):
    """The machined joint face laid on top, open round every screw."""
    holes = [_outline(-0.6)]
    rim = plate(_outline(4.6), holes, 0.4, 0.1, mat, at=(0, 0, 41.9))
    pads = [ring(7.2, 3.0, 0.42, (x, y, 41.9), mat=mat, bevel=0.1) for x, y in BOSSES]
    return [rim, *pads]


def crankcase_torn():
    """Left crankcase half, joint face up, seen from below: the drain hole's thread torn out."""
    rng = np.random.default_rng(8)
    body = _case(alloy(33, True, 0.5, 0.75, 0.40, True))
    bore = orient(rod(DRAIN / 2 + 0.1, 60, bevel=0), (34, -40, 20), (1, 0, 0), (0, 0, 1))
    face = orient(rod(40, 20, bevel=0), (34, -75.3, 20), (1, 0, 0), (0, 0, 1))
    cut(body, [bore, face])
    weight(
        body,
        "rusty",
        lambda p: (
            0.12 * (p[:, 2] < 12)
            + 0.10 * np.exp(-(((p[:, 0] - 34) / 20) ** 2 + ((p[:, 2] - 20) / 16) ** 2)) * (p[:, 1] < -50)
            - 0.02
        ),
    )
    bright, grey = alloy(35, False, 0.1, 0.15, 0.55), alloy(34, False, 0.3, 0.35, 0.5)
    inside = [
        _inner_thread(DRAIN, DRAIN_PITCH, 16, bright, 0.75, rng),
        *_strands(rng, bright, 0.0),
        ring(12.2, DRAIN / 2 + 0.15, 0.3, (0, 0, -0.15), mat=grey, bevel=0.08),
    ]
    for each in inside:
        orient(each, (34, -75.4, 20), (1, 0, 0), (0, 0, 1))
    points = {"drain": (34, -75.4, 20), "left screw": (0, -62, 42.3), "right screw": (48, -46, 42.3)}
    return Subject(
        [body, *_joint(grey), *inside],
        points,
        {"drain hole": ((34, -75.4, 20), DRAIN)},
        [("screw centres", "left screw", "right screw")],
        {"thread": {"major_mm": DRAIN, "pitch_mm": round(DRAIN_PITCH, 4), "per_inch": 16, "state": "torn"}},
    )


def crankcase_snapped():
    """The other crankcase half from above: one joint screw snapped well below its boss."""
    body = _case(alloy(43, True, 0.6, 0.6, 0.38, True))
    weight(body, "rusty", lambda p: 0.16 * (p[:, 2] < 14) - 0.02)
    grey = alloy(44, False, 0.35, 0.4, 0.48)
    threads, rng = [], np.random.default_rng(3)
    for i, (x, y) in enumerate(BOSSES):
        threads.append(move(_inner_thread(6.35, 25.4 / 20, 20, grey, 0.0, rng), (x, y, 42.3)))
        if i == 6:
            threads += thread(
                6.3, 25.4 / 20, 14, steel(9, 0.7, 60), (x, y, 23), snapped=0.8, seed=5, cap=fracture(5, 0.45)
            )
            threads.append(ring(7.6, 3.2, 0.12, (x, y, 42.32), mat=steel(12, 0.7, 60), bevel=0.03))
    bearing = [
        ring(23.4, 19.5, 13, (0, 0, 9.5), mat=steel(15, 0.35, 40, 0.3), bevel=0.6),
        ring(14.5, 10, 13, (0, 0, 9.5), mat=steel(16, 0.3, 40, 0.3), bevel=0.6),
    ]
    for k in range(8):
        a = 2 * math.pi * k / 8
        ball = [(4.4 * math.sin(t), -4.4 * math.cos(t)) for t in np.linspace(0, math.pi, 24)]
        bearing.append(revolve(ball, steel(17, 0.2, 60, 0.4, 0.25), 32, (17 * math.cos(a), 17 * math.sin(a), 16)))
    x, y = BOSSES[6]
    points = {"snapped screw": (x, y, 42.3), "next screw": (*BOSSES[7], 42.3), "break": (x, y, 37.2)}
    return Subject(
        [body, *_joint(grey), *threads, *bearing],
        points,
        {"snapped screw": ((x, y, 42.3), 6.35)},
        [("screw centres", "snapped screw", "next screw")],
        {"thread": {"major_mm": 6.35, "pitch_mm": 1.27, "per_inch": 20}, "break_below_face_mm": 5.1},
    )


GROOVES = [
    (27.4, 46),
    (27.4, 44.2),
    (25.2, 44.2),
    (25.2, 42.2),
    (27.4, 42.2),
    (27.4, 39.2),
    (25.2, 39.2),
    (25.2, 37.2),
    (27.4, 37.2),
]
PISTON_PROFILE = [
    (0, 55.5),
    (10, 55.0),
    (20, 53.2),
    (25.5, 50.8),
    (27.0, 50.2),
    (27.35, 49.6),
    *GROOVES,
    (27.45, 20),
    (27.5, 1),
    (27.0, 0),
    (25, 0),
    (24.4, 2),
    (23.6, 30),
    (20, 44),
    (0, 47),
]


def _scored(p, rng):
    """The skirt's thrust side ploughed by a seizure: fine scores along the bore, 0.1 to 0.4 mm deep."""
    angle = np.degrees(np.arctan2(p[:, 1], p[:, 0]))
    lane = np.clip(rng.exponential(0.13, 720), 0, 0.4)[((angle % 360) * 2).astype(int) % 720]
    worn = lane * np.exp(-(((angle + 62) / 20) ** 2)) * (np.hypot(p[:, 0], p[:, 1]) > 26.5)
    worn = worn * np.clip((p[:, 2] - 2) / 3, 0, 1) * np.clip((49 - p[:, 2]) / 3, 0, 1)
    return p * np.c_[1 - worn / 27.5, 1 - worn / 27.5, np.ones(len(p))]


def piston():
    """Piston of 55 mm, crown up: carbon, one ring stuck, skirt scored."""
    rng = np.random.default_rng(9)
    body = revolve(dense(PISTON_PROFILE[::-1], 1.0), alloy(51, False, 0.15, 0.95, 0.44, True), 720)
    reshape(body, lambda p: _scored(p, rng))
    tools = [move(rod(7.0, 80, bevel=0), (0, 40, 24), (90, 0, 0)), move(rod(17, 80, bevel=0), (0, 40, -6), (90, 0, 0))]
    cut(body, tools, 35)
    streaks = np.interp(np.linspace(0, 1, 720), np.linspace(0, 1, 240), np.clip(rng.normal(-0.1, 0.14, 240), -0.2, 0.4))

    def soot(p):
        a = (np.arctan2(p[:, 1], p[:, 0]) / (2 * math.pi) % 1 * 719).astype(int)
        side = np.exp(-(((np.degrees(np.arctan2(p[:, 1], p[:, 0])) + 62) / 24) ** 2))
        blowby = 0.18 * np.clip((p[:, 2] - 26) / 14, 0, 1)
        return (
            np.where(p[:, 2] > 49.8, 0.34, 0)
            + blowby * (p[:, 2] < 49.8)
            + streaks[a] * (0.5 + 1.4 * side) * (p[:, 2] < 49)
            - 0.05
        )

    weight(body, "rusty", soot)
    rings = [ring(27.4, 25.0, 1.8, (0, 0, z), mat=steel(52, 0.25, 40, 0.3), bevel=0.2) for z in (42.3, 37.3)]
    points = {
        "left": (-27.4, 0, 45),
        "right": (27.4, 0, 45),
        "crown": (0, 0, 55.5),
        "skirt": (27.5 * math.cos(math.radians(-62)), 27.5 * math.sin(math.radians(-62)), 16),
    }
    return Subject(
        [body, *rings], points, {"gudgeon pin": ((0, -27, 24), 14.0)}, [("over the lands", "left", "right")], {}
    )


def _head_casting():
    cast = alloy(61, True, 0.6, 0.5, 0.40, True)
    solids = [rod(50, 10), rod(40, 20, bevel=6), rod(15, 38, (0, 0, 4))]
    for k in range(-5, 6):
        half = math.sqrt(max(0, 60**2 - (k * 10.4) ** 2))
        if half < 12:
            continue
        high = 40 - 0.9 * abs(k) ** 1.4
        fin = plate(
            np.array(
                [
                    (-half, 0),
                    (half, 0),
                    (half, high * 0.55),
                    (half * 0.72, high),
                    (-half * 0.72, high),
                    (-half, high * 0.55),
                ]
            ),
            [],
            2.6,
            0.9,
        )
        solids.append(orient(fin, (0, k * 10.4 + 1.3, 6), (1, 0, 0), (0, 0, 1)))
    solids += [rod(8.5, 26, (x, y, 0)) for x in (-34, 34) for y in (-34, 34)]
    body = fuse(solids, 0.75, 3, cast)
    tools = [rod(6.9, 80, (0, 0, -10), bevel=0), rod(15.4, 20, (0, 0, 36), bevel=0)] + [
        rod(4.4, 80, (x, y, -10), bevel=0) for x in (-34, 34) for y in (-34, 34)
    ]
    tools += [rod(12.5, 60, (x, y, 26), bevel=0) for x in (-34, 34) for y in (-34, 34)]
    jag = np.array([(4, 12), (9, 17), (7, 21), (12, 25), (9, 29), (14, 60), (60, 60), (60, 9), (22, 10)])
    tools.append(orient(plate(jag, [], 5, 0.1), (0, -5 * 10.4 + 2.5, 0), (1, 0, 0), (0, 0, 1)))
    return cut(body, tools)


def cylinder_head():
    """Cylinder head, fins up, plug hole in the middle, the end of one fin broken away."""
    body = _head_casting()
    weight(
        body, "rusty", lambda p: 0.16 * (p[:, 2] < 22) + 0.05 * np.exp(-((np.hypot(p[:, 0], p[:, 1]) / 18) ** 2)) - 0.04
    )
    worn = _inner_thread(14, 1.25, 12, alloy(62, False, 0.2, 0.5, 0.4), 0.15, np.random.default_rng(4))
    points = {"plug": (0, 0, 36), "hole a": (-34, -34, 26), "hole b": (34, -34, 26), "break": (9, -53.3, 19)}
    return Subject(
        [
            body,
            move(worn, (0, 0, 35.8)),
            ring(13, 7.2, 0.4, (0, 0, 35.7), mat=plain(3, (0.105, 0.055, 0.036), 0.5, 0.8), bevel=0.1),
        ],
        points,
        {"plug": ((0, 0, 36), 14.0)},
        [("stud hole centres", "hole a", "hole b")],
        {"thread": {"major_mm": 14.0, "pitch_mm": 1.25}},
    )
