"""Engine and carburettor: zinc and aluminium castings, some broken."""

from __future__ import annotations

import math

import numpy as np
from materials import alloy, brass, fracture, plain, steel
from solids import (
    arc,
    box_outline,
    circle,
    cut,
    fuse,
    hexagon,
    move,
    orient,
    plate,
    revolve,
    ring,
    rod,
    thread,
    tube,
    weight,
)
from stage import Subject


def _carburettor_body(zinc):
    lying = (0, 90, 0)
    flange = plate(np.vstack([arc(0, 22, 10, 0, 180), arc(0, -22, 10, 180, 360)]) * (1.25, 1), [], 7, 0.8)
    orient(flange, (-34, 0, 12), (0, 0, 1), (0, 1, 0))
    solids = [
        rod(16, 52, (0, 0, -14)),
        rod(14.5, 70, (-36, 0, 12), lying),
        rod(19.5, 7, (31, 0, 12), lying),
        flange,
        plate(box_outline(54, 50, 13), [], 6, 1.0, at=(0, 0, 33)),
        rod(24, 5, (0, 0, 30)),
        rod(17.5, 7, (0, 0, -22)),
        rod(5.5, 18, (4, -24, 12), (-70, 0, 0)),
        rod(5, 20, (-14, 20, 6), (60, 0, 20)),
        plate([(-3, -20), (3, -20), (3, 20), (-3, 20)], [], 16, 1, at=(-20, 0, 16)),
    ]
    solids += [rod(5.2, 9, (x, y, 30)) for x in (-20, 20) for y in (-18, 18)]
    body = fuse(solids, 0.55, 4, zinc)
    tools = [
        rod(11.5, 120, (-60, 0, 12), lying, bevel=0),
        rod(19, 20, (0, 0, 34), bevel=0),
        rod(11, 45, (0, 0, -40), bevel=0),
        rod(16, 6, (33.5, 0, 12), lying, bevel=0),
    ]
    tools += [rod(1.9, 30, (x, y, 20), bevel=0, n=32) for x in (-20, 20) for y in (-18, 18)]
    for y in (-24, 24):
        tools.append(rod(3.2, 40, (-60, y, 12), lying, bevel=0, n=40))
    cut(body, tools)
    return weight(
        body, "rusty", lambda p: 0.20 * np.exp(-(((p[:, 2] - 36) / 6) ** 2)) * (np.hypot(p[:, 0], p[:, 1]) < 21) - 0.03
    )


def _carburettor_fittings(yellow):
    """Jets, needle seat, the float's pivot posts, the throttle stop screw with its spring."""
    jet = [
        rod(5.6, 7, (0, 0, 30), mat=yellow),
        plate(hexagon(8.2), [circle(0, 0, 1.3, 20)], 6, 0.5, yellow, at=(0, 0, 36.8)),
    ]
    seat = [
        plate(hexagon(9), [circle(0, 0, 4.4, 30)], 4.5, 0.5, yellow, at=(-11.5, 0, 33.6)),
        ring(3.4, 2.2, 3, (-11.5, 0, 38), mat=yellow, bevel=0.2),
    ]
    pilot = [ring(2.6, 0.9, 4, (9.5, 7.5, 33.8), mat=yellow, bevel=0.3)]
    zinc = alloy(9, True, 0.3, 0.5, 0.34)
    posts = []
    for y in (-5.5, 5.5):
        post = plate(np.vstack([[(-3, 0), (3, 0)], arc(0, 6, 3, 0, 180, 14)]), [circle(0, 6, 1.8, 20)], 2.2, 0.3, zinc)
        posts.append(orient(post, (-16, y + 1.1, 33.5), (1, 0, 0), (0, 0, 1)))
    rusty = steel(4, 0.5, 40)
    coil = np.array([(2.9 * math.cos(t), 2.9 * math.sin(t), 1.5 + t * 0.33) for t in np.linspace(0, 11 * math.pi, 200)])
    stop = [tube(coil, 0.45, rusty, 8), rod(1.9, 15, mat=rusty), rod(4, 4, (0, 0, 13), mat=yellow)]
    for each in stop:
        move(each, (4, -40, 17.8), (-70, 0, 0))
    return [*jet, *seat, *pilot, *posts, *stop]


def carburettor():
    """A small carburettor with its bowl off: jet and float needle seat in view, no float, no needle."""
    body = _carburettor_body(alloy(5, True, 0.35, 0.55, 0.34, True, (1.0, 0.985, 0.94)))
    yellow = brass(3)
    face = plate(
        box_outline(53.2, 49.2, 12.6),
        [circle(0, 0, 38.6, 90)] + [circle(x, y, 4.2, 24) for x in (-20, 20) for y in (-18, 18)],
        0.5,
        0.1,
        plain(12, (0.085, 0.058, 0.030), 0.9),
        at=(0, 0, 39.05),
    )
    torn = [plate(box_outline(26, 30, 4, -22, -24), [], 3, 0.1, at=(0, 0, 38)), rod(9, 3, (24, 12, 38))]
    cut(face, torn)
    fittings = _carburettor_fittings(yellow)
    parts = [body, face, *fittings]
    points = {
        "flange hole near": (-41, -24, 12),
        "flange hole far": (-41, 24, 12),
        "jet": (0, 0, 42.8),
        "seat": (-11.5, 0, 41),
        "left": (-20, -18, 39),
        "right": (20, -18, 39),
    }
    holes = {"flange near": (points["flange hole near"], 6.4), "flange far": (points["flange hole far"], 6.4)}
    holes |= {
        f"bowl screw {i + 1}": ((x, y, 39.2), 3.8)
        for i, (x, y) in enumerate(((-20, -18), (20, -18), (20, 18), (-20, 18)))
    }
    return Subject(
        parts,
        points,
        holes,
        [("flange centres", "flange hole near", "flange hole far"), ("bowl screw centres", "left", "right")],
        {"choke_bore_mm": 23.0, "float_present": False},
    )


STUD, PITCH = 7.938, 25.4 / 22


def barrel():
    """An alloy barrel, its exhaust port to the front: one stud whole, one snapped proud. 5/16 in, 22 to the inch."""
    cast = alloy(3, True, 0.5, 0.62, 0.42, True)
    solids = [rod(36, 96, (0, 0, 0)), plate(box_outline(96, 96, 22), [], 9, 1.2)]
    for k in range(9):
        wide = 112 - 1.2 * abs(k - 3)
        solids.append(plate(box_outline(wide, wide * 0.94, 30), [], 2.5, 0.9, at=(0, 0, 17 + 8.6 * k)))
    port = plate(np.vstack([arc(29, 0, 11, -90, 90), arc(-29, 0, 11, 90, 270)]), [], 30, 1.5)
    solids += [orient(port, (0, -34, 50), (1, 0, 0), (0, 0, 1)), rod(25, 36, (0, -30, 50), (90, 0, 0))]
    body = fuse(solids, 0.75, 3, cast)
    tools = [rod(27.5, 130, (0, 0, -10), bevel=0, n=96), rod(17, 60, (0, -70, 50), (-90, 0, 0), bevel=0)]
    tools += [rod(4.5, 130, (x, y, -10), bevel=0) for x in (-36, 36) for y in (-36, 36)]
    chips = [move(rod(9, 9, bevel=0), (57, 26, 64), (0, 0, 0))]
    cut(body, tools + chips)
    weight(
        body,
        "rusty",
        lambda p: (
            0.16 * np.exp(-(((p[:, 2] - 50) / 14) ** 2 + (p[:, 0] / 30) ** 2)) * (p[:, 1] < -30)
            + 0.07 * (np.hypot(p[:, 0], p[:, 1]) < 44)
            - 0.04
        ),
    )
    liner = ring(31.5, 27.4, 100, (0, 0, -3), mat=steel(8, 0.45, 30, 0.22), bevel=0.6)
    soot = plain(6, (0.012, 0.011, 0.010), 0.85)
    throat = revolve([(17.02, 0), (17.02, 34)], soot, 80, (0, -66, 50), (-90, 0, 0))
    gasket = ring(24, 17.2, 0.6, (0, -64.5, 50), (90, 0, 0), steel(12, 0.62, 50), 0.1)
    parts = [body, liner, throat, gasket]
    parts += _studs()
    points = {
        "stub": (-29, -72.5, 50),
        "stub foot": (-29, -66.2, 50),
        "whole foot": (29, -66.2, 50),
        "whole tip": (29, -96, 50),
        "port": (0, -64, 50),
        "chip": (54, 26, 68),
    }
    return Subject(
        parts,
        points,
        {"port": ((0, -64, 50), 34.0)},
        [("stud centres", "stub foot", "whole foot"), ("stud length proud", "whole foot", "whole tip")],
        {"thread": {"major_mm": STUD, "pitch_mm": round(PITCH, 4), "per_inch": 22}, "stub_proud_mm": 6.5},
    )


def _studs():
    old, brown, grey = steel(7, 0.42, 60, 0.27), steel(4, 0.78, 60), fracture(2, 0.4)
    rough = [ring(5.4, 3.8, 0.5, (x, -64.3, 50), (90, 0, 0), brown, 0.15) for x in (-29, 29)]
    return (
        rough
        + thread(STUD, PITCH, 32, old, (29, -64, 50), (90, 0, 0), seed=1)
        + thread(STUD, PITCH, 8.5, brown, (-29, -64, 50), (90, 0, 0), snapped=0.85, seed=4, cap=grey)
    )
