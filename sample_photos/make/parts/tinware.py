"""Pressed steel: mudguard, petrol tank, toolbox lid, headlamp rim."""

from __future__ import annotations

import itertools
import math

import numpy as np
from materials import chrome, fracture, painted, plain, steel
from scipy.spatial import ConvexHull
from solids import (
    arc,
    box_outline,
    circle,
    cut,
    dense,
    mesh,
    nut,
    orient,
    plate,
    quads,
    revolve,
    ring,
    rod,
    shade,
    thicken,
    thread,
    tube,
    weight,
)
from stage import Subject

GREEN = (0.016, 0.066, 0.060)
MAROON = (0.115, 0.016, 0.018)
BLACK = (0.010, 0.010, 0.011)
GOLD = (0.50, 0.38, 0.15)
RADIUS, HALF = 285.0, math.radians(52)


def _section(u):
    """Half-section of the mudguard by u = -1..1 across: sideways and outward mm."""
    s = np.abs(u)
    side = np.sign(u) * (50 * np.sin(np.minimum(s, 0.80) / 0.80 * math.pi / 2) ** 0.95)
    out = 24 * np.cos(np.minimum(s, 0.80) / 0.80 * math.pi / 2) ** 0.80 - 14 * np.clip((s - 0.80) / 0.2, 0, 1)
    bead = np.exp(-(((s - 0.975) / 0.020) ** 2))
    return side + np.sign(u) * 2.2 * bead, out + 1.6 * np.exp(-((u / 0.075) ** 2))


def _blade(rng):
    na, nu = 420, 110
    a, u = np.linspace(-HALF, HALF, na), np.linspace(-1, 1, nu)
    side, out = _section(u)
    angle, across = np.meshgrid(a, u, indexing="ij")
    y = np.broadcast_to(side[None], angle.shape)
    along = angle * RADIUS
    dents = 6.5 * np.exp(-(((along + 88) / 24) ** 2 + ((y + 16) / 17) ** 2)) + 3 * np.exp(
        -(((along - 150) / 40) ** 2 + ((y - 30) / 15) ** 2)
    )
    wave = 0.5 * np.sin(along / 47 + 1) * np.sin(y / 30) + 0.3 * np.sin(along / 19)
    r = RADIUS + out[None] - dents + wave
    end = np.exp(-(HALF - np.abs(angle)) * RADIUS / 20)
    edge = np.exp(-(((1 - np.abs(across)) / 0.10) ** 1.2))
    tabs = sum(np.exp(-(((along - t) / 20) ** 2 + ((y + 48) / 22) ** 2)) for t in (-150, 118))
    rusty = (
        0.19 * edge
        + 0.16 * end
        + 0.15 * tabs
        + 0.12 * np.exp(-(((along + 88) / 20) ** 2 + ((y + 16) / 16) ** 2))
        - 0.05
    )
    points = np.stack([r * np.sin(angle), y, r * np.cos(angle)], -1)
    mat = painted(3, GREEN, rust=0.42, scale=15, gloss=0.24, grime=0.3, dust=0.32)
    blade = mesh("mudguard", points.reshape(-1, 3), quads(na, nu), mat, 60, rusty=rusty)
    return thicken(blade, 1.1)


def _tab(at, whole, rng, mat):
    """A stay tab riveted to the near skirt at an arc length: its objects and a map from its plane to the part."""
    a = at / RADIUS
    down, along = np.array((-math.sin(a), 0, -math.cos(a))), np.array((math.cos(a), 0, -math.sin(a)))
    edge = np.array((RADIUS * math.sin(a), -54.6, RADIUS * math.cos(a)))
    if whole:
        outline = np.vstack([[(-13, -14), (13, -14)], arc(0, 30, 13, 0, 180, 26)])
        holes = [circle(0, 30, 8.5, 40)]
    else:
        x = np.linspace(13, -13, 34)
        torn = 30.0 + 0.10 * x + np.cumsum(rng.normal(0, 0.30, 34)) + rng.normal(0, 0.35, 34)
        gone = 30 - np.sqrt(np.clip(4.25**2 - x**2, 0, None))
        outline = np.vstack(
            [[(-13, -14), (13, -14)], np.c_[x, np.where(np.abs(x) < 4.25, np.minimum(torn, gone), torn)]]
        )
        holes = []
    made = [plate(outline, holes, 2.9, 0.22 if whole else 0.05, mat)]
    for x in (-7.5, 7.5):
        head = revolve([(0, 0), (4.2, 0), (3.9, 1.1), (2.6, 2.0), (0, 2.4)], mat, 28, (x, -7, -0.1), (180, 0, 0))
        made.append(head)
    if not whole:
        face = [(px, py + 0.04, z) for z in (0.35, 2.55) for px, py in outline[2:]]
        made.append(mesh("tear", face, quads(2, len(outline) - 2), fracture(4, 0.42), 180))
    for each in made:
        orient(each, edge, along, down)
    return made, lambda p: tuple(edge + along * p[0] + down * p[1] + np.array((0, 1, 0)) * p[2])


def mudguard():
    """Front mudguard, arch up, one stay tab whole and one torn through its hole."""
    rng = np.random.default_rng(5)
    mat = painted(8, GREEN, rust=0.60, scale=30, gloss=0.3, weighted=False)
    good, spot = _tab(-150, True, rng, mat)
    bad, torn = _tab(118, False, rng, mat)
    points = {
        "whole hole": spot((0, 30, 0)),
        "torn": torn((0, 25, 0)),
        "tab left": spot((-13, 0, 0)),
        "tab right": spot((13, 0, 0)),
        "near skirt": (0, -52, RADIUS),
        "far skirt": (0, 52, RADIUS),
        "tab top": torn((0, -7, 0)),
        "crown": (0, 0, RADIUS + 24),
        "dent": (-91.5, -16, 286.8),
    }
    bridge = plate(
        box_outline(96, 34, 5), [circle(-34, 0, 8.2, 32), circle(34, 0, 8.2, 32)], 2.6, 0.3, mat, at=(0, 0, RADIUS - 14)
    )
    return Subject(
        [_blade(rng), *good, *bad, bridge],
        points,
        {"stay tab hole": (points["whole hole"], 8.5)},
        [("tab width", "tab left", "tab right"), ("over the skirts", "near skirt", "far skirt")],
        {"sheet_mm": 1.1, "wheel_side_radius_mm": RADIUS},
    )


def _tank_body():
    length, na, nt = 480.0, 280, 240
    s, th = np.linspace(0, 1, na), np.linspace(0, 2 * math.pi, nt, endpoint=False)
    close = np.clip(1 - np.abs(2 * s - 1) ** 4.6, 0, 1) ** 0.5
    wide = (118 - 46 * s**1.6) * close
    top, low = (146 - 54 * s**1.35) * close, 30 * np.clip(1 - np.abs(2 * s - 1) ** 6, 0, 1) ** 0.5
    c, v = np.cos(th), np.sin(th)
    y = wide[:, None] * np.sign(c) * np.abs(c) ** (2 / 2.7)
    z = np.where(v > 0, top[:, None] * np.abs(v) ** (2 / 2.25), -low[:, None] * np.abs(v) ** (2 / 3.2))
    x = np.broadcast_to((s * length - length / 2)[:, None], y.shape)
    knee = 12 * np.exp(-(((x - 80) / 85) ** 2)) * np.exp(-(((z - 45) / 46) ** 2))
    y = y - np.sign(y) * knee * np.clip(np.abs(y) / 40, 0, 1)
    return np.stack([x, y, z], -1), na, nt


def _dented(p, na, nt):
    """Press one blow into the near flank; returns the points, its middle and the distance of every point from it."""
    normal = np.cross(np.roll(p, -1, 1) - np.roll(p, 1, 1), np.gradient(p, axis=0))
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True) + 1e-9
    if normal[na // 2, nt // 4][2] < 0:
        normal = -normal
    i, j = np.unravel_index(np.argmin(((p - (-78, -84, 92.0)) ** 2).sum(-1)), p.shape[:2])
    skew = (p - p[i, j]) * (0.8, 1, 1.15)
    far = np.linalg.norm(skew, axis=-1)
    p = p - normal * (13.0 * np.exp(-((far / 24) ** 2.4)) - 0.7 * np.exp(-(((far - 46) / 13) ** 2)))[..., None]
    return p, p[i, j].copy(), far


def tank():
    """Petrol tank on its seam, a blow in its near flank, cap gone."""
    p, na, nt = _tank_body()
    p, middle, far = _dented(p, na, nt)
    x, y, z = p[..., 0], p[..., 1], p[..., 2]
    rusty = 0.20 * np.exp(-(((z + 12) / 24) ** 2)) + 0.14 * np.exp(-(((x + 120) / 48) ** 2 + (y / 48) ** 2)) * (z > 60)
    rusty = rusty + 0.06 * np.exp(-((far / 13) ** 2)) + 0.12 * np.exp(-(((x - 215) / 26) ** 2)) - 0.07
    oval = (np.hypot((x + 10) / 165, (z - 50) / 50) - 1) * 50
    stripe = np.where(np.abs(y) > 25, oval, 99.0)  # mm from the painted line, sharpened in the material
    skin = painted(11, GREEN, rust=0.35, scale=11, gloss=0.13, grime=0.16, dust=0.30, stripe=GOLD)
    body = mesh("tank", p.reshape(-1, 3), quads(na, nt, wrap_m=True, flip=True), skin, 60, rusty=rusty, stripe=stripe)
    seam = painted(4, GREEN, rust=0.66, scale=20, weighted=False)
    near = [p[a, 0] + (0, 1.0, -3.0) for a in range(3, na - 3)] + [
        p[a, nt // 2] + (0, -1.0, -3.0) for a in range(na - 4, 2, -1)
    ]
    lip = tube(np.array([*near, near[0]]), 2.4, seam, 10, caps=False)
    fx = -125
    top = float(np.interp(fx, p[:, nt // 4, 0], p[:, nt // 4, 2]))
    neck = [
        ring(29, 25.5, 12, (fx, 0, top - 3), (0, -3, 0), steel(5, 0.6, 40)),
        ring(34, 28, 3, (fx, 0, top - 2.4), (0, -3, 0), seam),
        rod(25.8, 0.5, (fx, 0, top - 1.5), mat=plain(7, (0.020, 0.009, 0.005), 0.9)),
    ]
    points = {"dent": tuple(middle), "filler": (fx, 0, top + 9), "front": (-240, 0, 0), "rear": (240, 0, 0)}
    return Subject(
        [body, lip, *neck],
        points,
        {"filler neck": ((fx, 0, top + 9), 51.0)},
        [("length", "front", "rear")],
        {"dent_depth_mm": 13.0, "dent_across_mm": 70},
    )


def toolbox_lid():
    """A toolbox lid, rounded triangle, knob gone, maroon: another machine's."""
    corners = [(-95, -58, 26), (95, -62, 26), (66, 62, 30), (-70, 62, 30)]
    hull = np.vstack([circle(x - math.copysign(r, x), y - math.copysign(r, y), 2 * r, 64) for x, y, r in corners])
    edge = hull[ConvexHull(hull).vertices]
    levels = [
        (1.0, 0),
        (1.0, 9),
        (0.995, 11.5),
        (0.98, 13.4),
        (0.95, 14.2),
        (0.90, 14.4),
        (0.84, 14.6),
        (0.80, 16.4),
        (0.77, 18),
        (0.73, 18.6),
        (0.5, 19.2),
        (0.25, 19.6),
        (0.02, 19.7),
    ]
    fine = np.vstack(
        [
            np.c_[np.linspace(a[0], b[0], 8, endpoint=False), np.linspace(a[1], b[1], 8, endpoint=False)]
            for a, b in itertools.pairwise(levels)
        ]
    )
    step = np.linspace(0, len(edge), 260, endpoint=False)
    loop = np.c_[
        np.interp(step, range(len(edge) + 1), np.r_[edge[:, 0], edge[0, 0]]),
        np.interp(step, range(len(edge) + 1), np.r_[edge[:, 1], edge[0, 1]]),
    ]
    points = np.stack(
        [
            np.c_[loop * k, np.full(len(loop), z) - 1.8 * np.exp(-(((loop * k - (30, 18)) / 16) ** 2).sum(1))]
            for k, z in fine
        ]
    )
    rusty = np.repeat(np.interp(fine[:, 1], (0, 6, 14, 16, 20), (0.2, 0.05, 0.06, 0.02, -0.05)), len(loop))
    mat = painted(21, MAROON, rust=0.34, scale=20, gloss=0.2, grime=0.2, dust=0.3)
    lid = mesh("lid", points.reshape(-1, 3), quads(len(fine), len(loop), wrap_m=True), mat, 60, rusty=rusty)
    thicken(lid, 0.9, 1.0)
    cut(lid, [rod(4.2, 60, (0, 0, -10)), rod(2.6, 60, (-70, -44, -10)), rod(2.6, 60, (70, -44, -10))], 50)
    holes = {"knob": ((0, 0, 19.8), 8.4), "hinge left": ((-70, -44, 14.6), 5.2), "hinge right": ((70, -44, 14.6), 5.2)}
    known = {name: p for name, (p, _) in holes.items()}
    return Subject([lid], known, holes, [("hinge centres", "hinge left", "hinge right")], {"sheet_mm": 0.9})


def headlamp_rim():
    """A chromed headlamp rim, face up, pitted along its lower half, with its clip and screw."""
    outer = [
        (72, 4),
        (74.5, 7.2),
        (78, 9.2),
        (82, 9.7),
        (86, 8.4),
        (89, 5.2),
        (90.2, 1),
        (90.4, -6),
        (91.6, -8.5),
        (92.2, -10),
        (91.2, -11),
    ]
    inner = [(r - 0.9, z - (0.9 if r < 88 else 0)) for r, z in reversed(outer)]
    profile = np.array([*outer, *inner, outer[0]])
    rim = revolve(dense(profile, 0.8), chrome(3, pits=0.52, haze=0.35, weighted=True), 360)
    shade(rim, 70)
    weight(
        rim, "rusty", lambda p: 0.13 * np.clip(-p[:, 1] / 90, -0.8, 1) - 0.05 + 0.06 * np.clip((-6 - p[:, 2]) / 4, 0, 1)
    )
    raw = steel(6, 0.55, 40)
    clip = plate(np.vstack([[(-8, 0), (8, 0)], arc(0, 14, 8, 0, 180, 16)]), [circle(0, 14, 5, 24)], 1.4, 0.2, raw)
    orient(clip, (0, -90.5, -9), (1, 0, 0), (0, -1, 0.10))
    screw = thread(4.8, 0.8, 15, raw, (0, -104.5, -17), seed=2)
    holder = nut(9.5, 4.2, 3.4, raw, (0, -104.5, -8.7))
    points = {
        "left": (-90.4, 0, -6),
        "right": (90.4, 0, -6),
        "opening left": (-72, 0, 4),
        "opening right": (72, 0, 4),
        "low lip": (0, -84, 9),
    }
    return Subject(
        [rim, clip, holder, *screw],
        points,
        {},
        [("over the rim", "left", "right"), ("opening", "opening left", "opening right")],
        {},
    )
