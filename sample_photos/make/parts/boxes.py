"""The seven boxes: an open carton with what fell into it, and a tray of fasteners."""

from __future__ import annotations

import math
import random

import bpy
import clutter
from benches import carton_skin
from materials import painted, plain, steel
from solids import bolt, box_outline, link, move, nut, plate, ring
from stage import Subject
from tumble import settle_in


def _carton(wide, deep, high, skin):
    """Floor and four walls 4 mm thick; returns them."""
    t = 4
    return [
        plate(box_outline(wide, deep, 1), [], t, 0.4, skin),
        plate(
            [(-wide / 2, 0), (wide / 2, 0), (wide / 2, high), (-wide / 2, high)],
            [],
            t,
            0.6,
            skin,
            (0, -deep / 2 + t / 2, 0),
            (90, 0, 0),
        ),
        plate(
            [(-wide / 2, 0), (wide / 2, 0), (wide / 2, high), (-wide / 2, high)],
            [],
            t,
            0.6,
            skin,
            (0, deep / 2 + t / 2, 0),
            (90, 0, 0),
        ),
        plate(
            [(0, -deep / 2), (high, -deep / 2), (high, deep / 2), (0, deep / 2)],
            [],
            t,
            0.6,
            skin,
            (-wide / 2 + t / 2, 0, 0),
            (0, -90, 0),
        ),
        plate(
            [(0, -deep / 2), (high, -deep / 2), (high, deep / 2), (0, deep / 2)],
            [],
            t,
            0.6,
            skin,
            (wide / 2 + t / 2, 0, 0),
            (0, -90, 0),
        ),
    ]


def _flaps(wide, deep, high, skin, r):
    """The back and side flaps; the front one has been torn off, as they are."""
    long = deep / 2 - 4
    back = [(-wide / 2 + 2, 0), (wide / 2 - 2, 0), (wide / 2 - 5, long), (-wide / 2 + 4, long)]
    made = [plate(back, [], 4, 0.6, skin)]
    move(made[0], (0, 0, 0), (r.uniform(-38, -14), 0, 0))
    move(made[0], (0, deep / 2, high - 2))
    for side in (-1, 1):
        made.append(
            plate(
                [(-deep / 2 + 3, 0), (deep / 2 - 3, 0), (deep / 2 - 6, wide / 4), (-deep / 2 + 6, wide / 4)],
                [],
                4,
                0.6,
                skin,
            )
        )
        move(made[-1], (0, 0, 0), (r.uniform(-50, -24), 0, -90 * side))
        move(made[-1], (side * wide / 2, 0, high - 2))
    return made


def _stencil(text, deep, high):
    words = bpy.data.curves.new("stencil", "FONT")
    words.body, words.size, words.align_x = text, 0.036, "CENTER"
    made = link(words, "stencil")
    flat = bpy.data.meshes.new_from_object(made.evaluated_get(bpy.context.evaluated_depsgraph_get()))
    bpy.data.objects.remove(made)
    made = link(flat, "stencil")
    flat.materials.append(plain(5, (0.025, 0.03, 0.06), 0.85, part=0))
    return move(made, (0, -deep / 2 - 2.3, high * 0.42), (90, 0, 0))


def box(contents, seed=1, wide=470, deep=340, high=210, text="CREAM  24 x 1/2 PT"):
    """An open dairy carton with the named parts tumbled into it, over a layer of small stuff."""
    from parts import PARTS

    r = random.Random(seed)
    skin = carton_skin(seed)
    walls = _carton(wide, deep, high, skin)
    groups = [PARTS[name]().objects for name in contents]
    for k in range(9):
        mat = steel(r.randrange(60), r.choice((0.4, 0.6, 0.8)), 40, 0.27)
        kind = ("bolt", "nut", "washer", "screw")[k % 4]
        groups.insert(0, clutter.MAKERS[kind](r, mat))
    drops = []
    for k in range(len(groups)):
        side = 0.30 if k >= 9 else 0.38
        turn = (
            tuple(r.uniform(-math.pi, math.pi) for _ in range(3))
            if k < 9
            else (r.uniform(-0.4, 0.4), r.uniform(-0.4, 0.4), r.uniform(-3, 3))
        )
        drops.append(
            (
                r.uniform(-wide, wide) * side * 0.7,
                r.uniform(-deep, deep) * side * 0.7,
                60 + 22 * k if k < 9 else 260 + 130 * (k - 8),
                turn,
            )
        )
    guard = [_fence(wide, deep, high, side) for side in range(4)]
    bodies = settle_in(groups, walls + guard, drops)
    for each in guard:
        bpy.data.objects.remove(each)
    return Subject(
        [*walls, *_flaps(wide, deep, high, skin, r), _stencil(text, deep, high), *bodies],
        {"middle": (0, 0, high * 0.4), "rim": (0, -deep / 2, high)},
        {},
        [],
        {"box_mm": [wide, deep, high]},
    )


def _fence(wide, deep, high, side):
    """Unseen walls above the carton while things fall."""
    t, tall = 60, 2600
    x, y = ((wide / 2 + t / 2, 0), (-wide / 2 - t / 2, 0), (0, deep / 2 + t / 2), (0, -deep / 2 - t / 2))[side]
    size = (t, deep + 2 * t) if side < 2 else (wide + 2 * t, t)
    return move(plate(box_outline(*size, 1), [], tall, 0.5), (x, y, high + 4))


def fasteners(seed=3, count=64):
    """A painted tin tray with the cycle-part fasteners tipped into it."""
    r = random.Random(seed)
    tin = painted(71, (0.20, 0.19, 0.15), 0.4, 18, 0.3, 0.3, 0.2, weighted=False)
    walls = [plate(box_outline(230, 160, 12), [], 1.2, 0.2, tin)]
    groups, drops = [], []
    for k in range(count):
        mat = steel(r.randrange(90), r.choice((0.15, 0.35, 0.55, 0.8)), 46, r.choice((0.24, 0.34, 0.42)), grime=0.5)
        d = r.choice((6.2, 7.8, 7.8, 9.4))
        pick = r.random()
        if pick < 0.5:
            groups.append(bolt(d, d * 0.14, r.uniform(16, 58), d * 1.65, d * 0.68, mat, k))
        elif pick < 0.75:
            groups.append([nut(d * 1.65, d * 0.86, d * 0.8, mat)])
        else:
            groups.append([ring(d * r.uniform(1.0, 1.3), d * 0.55, 1.5, mat=mat, bevel=0.2)])
        drops.append((r.uniform(-75, 75), r.uniform(-48, 48), 30 + 9 * k, tuple(r.uniform(-3, 3) for _ in range(3))))
    guard = [_fence(222, 152, 0, side) for side in range(4)]
    bodies = settle_in(groups, walls + guard, drops, 220)
    for each in guard:
        bpy.data.objects.remove(each)
    return Subject([*walls, _tray_rim(tin), *bodies], {"middle": (0, 0, 8)}, {}, [], {"pieces": count})


def _tray_rim(tin):
    """The tray's sloping side with its rolled edge."""
    from solids import dense, mesh, quads

    profile = dense([(0, 0.3), (2, 6), (6, 16), (7.2, 17.4), (8.6, 16.6), (7.6, 15.4)], 1.0)
    loop = box_outline(230, 160, 12)
    middle = loop / abs(loop).max(axis=0)
    rows = [
        [(x + dx * mx * 0.8, y + dx * my * 0.8, z) for (x, y), (mx, my) in zip(loop, middle, strict=True)]
        for dx, z in profile
    ]
    return mesh("tray rim", [p for row in rows for p in row], quads(len(profile), len(loop), wrap_m=True), tin, 60)
