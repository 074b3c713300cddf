"""Wheels and drive: hub with pulled spoke holes, brake plate, chain, spindle, fork tube, damper spring."""

from __future__ import annotations

import itertools
import math

import numpy as np
from materials import alloy, chrome, steel
from mathutils import Matrix
from solids import arc, circle, cut, dense, fuse, nut, orient, plate, revolve, ring, rod, thread, tube, weight
from stage import Subject


def _spoke_slot(angle, radius, across, along):
    """A hole pulled outwards: its radial length `along`, width `across`."""
    e = (along - across) / 2
    oval = np.vstack([arc(e, 0, across / 2, -90, 90, 14), arc(-e, 0, across / 2, 90, 270, 14)])
    outline = oval + np.array((radius + e, 0))
    return plate(outline, [], 20, 0.05, at=(0, 0, -10), turn=(0, 0, math.degrees(angle)))


HUB_PROFILE = [
    (10.2, -4),
    (13, -4),
    (13, 2),
    (20.5, 2),
    (22, 0.5),
    (52, 0),
    (58.5, 0.4),
    (60, 2),
    (60, 4),
    (58.5, 5.4),
    (34, 7),
    (27, 11),
    (24, 18),
    (24, 44),
    (28, 52),
    (38, 55),
    (66, 56),
    (68, 57.5),
    (68, 76),
    (67, 77),
    (64, 77),
    (63, 76),
    (63, 61),
    (30, 60),
    (26, 62),
    (26, 70),
    (17, 70),
    (17, 60),
    (10.2, 58),
    (10.2, -4),
]


def hub():
    """Front hub, spoke flange up: eighteen holes, most pulled oval by loose spokes."""
    rng = np.random.default_rng(14)
    flipped = [(r, 77 - z) for r, z in HUB_PROFILE]
    body = revolve(dense(flipped, 1.2), alloy(21, True, 0.5, 0.85, 0.40, True), 240)
    slots, holes, tools = [], {}, []
    for i in range(18):
        a = 2 * math.pi * i / 18
        long = 3.3 + max(0.0, rng.normal(2.3, 0.9))
        tools.append(_spoke_slot(a, 53, 3.3, long))
        slots.append({"hole": i + 1, "across_mm": 3.3, "along_mm": round(long, 2)})
    for tool in tools:
        tool.data.transform(Matrix.Translation((0, 0, 0.0745)))
    cut(body, tools, 35)
    weight(
        body,
        "rusty",
        lambda p: (
            0.13 * np.exp(-(((np.hypot(p[:, 0], p[:, 1]) - 30) / 9) ** 2))
            + 0.06 * np.exp(-(((np.hypot(p[:, 0], p[:, 1]) - 53) / 4) ** 2))
            - 0.02
        ),
    )
    cup = ring(13, 10.4, 3, (0, 0, 78.6), mat=steel(5, 0.5, 50), bevel=0.3)
    for i in (0, 9, 12):
        e = (slots[i]["along_mm"] - 3.3) / 2
        a = 2 * math.pi * i / 18
        holes[f"spoke {i + 1}"] = (((53 + e) * math.cos(a), (53 + e) * math.sin(a), 76.8), 3.3)
    points = {name: p for name, (p, _) in holes.items()} | {"rim left": (-60, 0, 75), "rim right": (60, 0, 75)}
    return Subject([body, cup], points, holes, [("over the flange", "rim left", "rim right")], {"spoke_holes": slots})


def _shoe_plate():
    return [
        (9, 0),
        (9, 24),
        (9.6, 24.6),
        (17, 24.6),
        (17.8, 23.8),
        (18.6, 15),
        (20, 12.5),
        (24, 11.5),
        (44, 10.2),
        (50, 10.4),
        (56, 13),
        (62, 13.4),
        (67, 13.2),
        (69.2, 13.4),
        (69.8, 14.2),
        (69.8, 18.4),
        (70.5, 19),
        (74.2, 19),
        (75, 18.2),
        (75, 8.2),
        (74, 7.4),
        (60, 7.2),
        (52, 6.2),
        (46, 4.2),
        (26, 4),
        (20, 2),
        (17, 0.6),
        (16, 0),
        (9, 0),
    ]


def _anchor_cam_and_arm(pin, arm_mat):
    parts = [
        rod(6, 20, (-48, 0, 18), mat=pin, bevel=0.8),
        ring(8.2, 6, 2, (-48, 0, 18.8), mat=pin),
        rod(7, 3, (48, 0, 18.5), mat=pin, bevel=0.3),
    ]
    side = np.linspace(-0.9, 0.9, 14)
    cam = np.r_[
        np.c_[10.5 * np.cos(side), np.clip(10.5 * np.sin(side), -5, 5)],
        np.c_[-10.5 * np.cos(side), -np.clip(10.5 * np.sin(side), -5, 5)],
    ]
    parts.append(plate(cam, [], 17, 0.5, pin, (48, 0, 21), (0, 0, 78)))
    lever = np.vstack([arc(0, 0, 11, 90, 270, 20), arc(78, 0, 7, -90, 90, 16)])
    parts.append(plate(lever, [circle(0, 0, 9, 32), circle(78, 0, 6.5, 40)], 5, 0.6, arm_mat, (48, 0, -6), (0, 0, 32)))
    parts.append(rod(5.5, 14, (48, 0, -8), mat=arm_mat))
    return parts


def brake_plate():
    """Front brake plate, shoes and springs gone; anchor pin, cam and arm still on it."""
    cast, arm_mat, pin = alloy(4, True, 0.45, 0.62, 0.44, True), steel(6, 0.66, 26, 0.27), steel(5, 0.42, 40)
    body = revolve(dense(_shoe_plate(), 1.4), cast, 240)
    weight(
        body,
        "rusty",
        lambda p: (
            0.14 * np.exp(-(((np.hypot(p[:, 0], p[:, 1]) - 66) / 6) ** 2))
            + 0.12 * np.exp(-(((np.hypot(p[:, 0], p[:, 1]) - 21) / 5) ** 2))
            - 0.05
        ),
    )
    boss = fuse([rod(12, 14, (-48, 0, 5)), rod(10.5, 14, (48, 0, 5))], 0.8, 4, alloy(9, True, 0.4, 0.6))
    parts = [body, boss]
    for k in range(6):
        parts.append(
            plate(
                [(22, -1.7), (58, -1.7), (58, 1.7), (22, 1.7)],
                [],
                5,
                0.8,
                alloy(9, True, 0.4, 0.6),
                (0, 0, 8.8),
                (0, 0, 30 + 60 * k),
            )
        )
    parts += _anchor_cam_and_arm(pin, arm_mat)
    turned = math.radians(32)
    far = (48 + 78 * math.cos(turned), 78 * math.sin(turned), -1)
    points = {"pivot": (-48, 0, 38), "cam": (48, 0, 38), "arm end": far}
    return Subject(
        parts,
        points,
        {"axle": ((0, 0, 24.6), 18.0), "arm": (far, 6.5)},
        [("pivot to cam", "pivot", "cam")],
        {"drum_bore_mm": 140},
    )


def chain(links=66):
    """Half-inch roller chain lying on its side in a loose coil, rusted, ends apart."""
    rng = np.random.default_rng(6)
    theta, way = 0.0, [np.array((40.0, 0.0))]
    while len(way) < links:
        theta += 0.0005
        r = 40 + 19.5 * theta / (2 * math.pi) + 5 * math.sin(1.5 * theta) * min(1, theta / 5)
        spot = np.array((r * math.cos(theta) * 1.25, r * math.sin(theta)))
        if np.linalg.norm(spot - way[-1]) >= 12.7:
            way.append(spot)
    mats = [steel(31, 0.74, 30, 0.17, grime=0.7), steel(32, 0.40, 40, 0.3, grime=0.6)]
    objects = []
    for i, (p, q) in enumerate(itertools.pairwise(way)):
        outline = np.vstack([arc(0, 0, 5.6, 70, 290, 18), arc(12.7, 0, 5.6, -110, 110, 18)])
        outline[:, 1] *= np.interp(outline[:, 0], (0, 2, 6.35, 10.7, 12.7), (1, 0.97, 0.70, 0.97, 1))
        x = np.array((*(q - p), 0.0)) / 12.7
        y, lean = np.array((-x[1], x[0], 0)), rng.normal(0, 0.05)
        levels = (0.1, 9.5) if i % 2 else (1.8, 7.8)
        for z in levels:
            objects.append(orient(plate(outline, [], 1.5, 0.25, mats[0]), (p[0], p[1], z + lean), x, y))
    for p in way:
        objects += [
            rod(4.2, 4.6, (p[0], p[1], 3.2), mat=mats[1], bevel=0.3, n=28),
            rod(1.9, 11.6, (p[0], p[1], 0), mat=mats[0], bevel=0.3, n=20),
        ]
    points = {"pin 1": (*way[0], 11.6), "pin 11": (*way[10], 11.6), "last pin": (*way[-1], 11.6)}
    return Subject(
        objects,
        points,
        {},
        [("ten links, straight across", "pin 1", "pin 11")],
        {"chain_pitch_mm": 12.7, "links": links - 1},
    )


def spindle():
    """Front wheel spindle, 9/16 in 20 to the inch both ends, rusted to a waist in the middle, one nut on it."""
    pitch, old = 25.4 / 20, steel(17, 0.5, 34, 0.28, weighted=True)
    z = np.linspace(0, 118, 150)
    waist = 7.1 - 0.55 * np.exp(-(((z - 64) / 20) ** 2)) - 0.25 * np.exp(-(((z - 30) / 9) ** 2))
    shaft = revolve([(0, 0), *zip(waist, z, strict=True), (0, 118)], old, 90)
    weight(shaft, "rusty", lambda p: 0.22 * np.exp(-(((p[:, 2] - 62) / 26) ** 2)) - 0.04)
    ends = steel(18, 0.44, 50, 0.27)
    parts = [
        shaft,
        *thread(14.288, pitch, 30, ends, (0, 0, 118), seed=2),
        *thread(14.288, pitch, 36, ends, (0, 0, 0), (180, 0, 0), seed=3),
        nut(22.1, 14.0, 11, steel(19, 0.5, 40, 0.32), (0, 0, -20)),
        ring(13, 7.3, 2.2, (0, 0, -8.8), mat=steel(20, 0.6, 40), bevel=0.3),
    ]
    points = {"left end": (0, 0, -36), "right end": (0, 0, 148), "right shoulder": (0, 0, 118)}
    return Subject(
        parts,
        points,
        {},
        [("overall", "left end", "right end"), ("right thread", "right shoulder", "right end")],
        {"thread": {"major_mm": 14.288, "pitch_mm": round(pitch, 4), "per_inch": 20}},
    )


def fork_tube():
    """A fork tube, hard chrome pitted through where the gaiter held water."""
    z = np.linspace(0, 440, 400)
    profile = [(0, 0), (12, 0), (13, 0.2), *[(14.0, v) for v in z[2:-2]], (13, 440), (10.5, 440), (10.5, 380)]
    body = revolve(profile, chrome(12, 0.52, 30, 0.3, True), 160)
    weight(
        body,
        "rusty",
        lambda p: 0.25 * np.exp(-(((p[:, 2] - 215) / 46) ** 2)) + 0.10 * np.exp(-(((p[:, 2] - 395) / 22) ** 2)) - 0.09,
    )
    points = {"foot": (0, 0, 0), "top": (0, 0, 440), "worst": (0, -14, 215)}
    return Subject(
        [body], points, {"bore": ((0, 0, 440), 21.0)}, [("length", "foot", "top")], {"outside_diameter_mm": 28.0}
    )


def damper_spring():
    """Rear damper spring: closed ends, thirteen working coils, plating gone and rust over the middle."""
    radius, wire, free, active, closed = 22.5, 6.4, 214.0, 13, 1.75
    turns = active + 2 * closed
    t = np.linspace(0, 1, 2600) * turns
    low = wire * 1.02
    pitch = (free - wire - 2 * closed * low) / active
    run = np.where(
        t < closed,
        t * low,
        np.where(
            t < closed + active,
            closed * low + (t - closed) * pitch,
            closed * low + active * pitch + (t - closed - active) * low,
        ),
    )
    run = np.convolve(np.pad(run, 40, "edge"), np.ones(81) / 81, "valid") + wire / 2
    a = t * 2 * math.pi
    path = np.c_[run, radius * np.cos(a), radius * np.sin(a)]
    rusty = 0.17 * np.exp(-(((run - 120) / 46) ** 2)) + 0.06 * np.exp(-(((run - 20) / 14) ** 2)) - 0.04
    body = tube(path, wire / 2, steel(2, 0.44, 30, 0.25, 0.36, 0.45, 0.2, True), 22, rusty=rusty)
    points = {
        "left end": (0, 0, -radius),
        "right end": (free, 0, -radius),
        "first coil": (closed * low + wire / 2, 0, 25.7),
        "last coil": (free - closed * low - wire / 2, 0, 25.7),
    }
    return Subject(
        [body],
        points,
        {},
        [("free length", "left end", "right end"), ("working coils", "first coil", "last coil")],
        {
            "working_coils": active,
            "coils_in_all": turns,
            "wire_mm": wire,
            "outside_diameter_mm": 2 * radius + wire,
            "coil_pitch_mm": round(pitch, 3),
        },
    )
