"""What parts lie on: boards, cardboard, concrete, oily steel, a dust sheet, hardboard, newspaper."""

from __future__ import annotations

import math
import random

import bpy
import numpy as np
from nodes import material
from solids import MM, mesh, move
from stage import grid_surface


def boards(seed):
    """Old planks, grey with dirt, gaps between."""
    r = random.Random(seed)
    y, count = -900.0, 0
    while y < 900:
        wide, gap = r.uniform(112, 142), r.uniform(0.6, 2.4)
        _board(seed * 20 + count, r, y + wide / 2, wide - gap, count % 4)
        y, count = y + wide, count + 1
    _flat((0.012, 0.010, 0.008), -20)


def _board(seed, r, y, wide, which):
    mat, n = material("board", seed)
    _board_skin(n, r, which)
    bpy.ops.mesh.primitive_cube_add(size=1)
    made = bpy.context.object
    made.scale = (2.4, wide * MM, 0.03)
    bpy.ops.object.transform_apply(location=False, rotation=False, scale=True)
    made.location = (r.uniform(-0.12, 0.12), y * MM, -0.015 - r.uniform(0, 0.0004))
    soften = made.modifiers.new("edge", "BEVEL")
    soften.width, soften.segments = 0.0018, 3
    made.data.materials.append(mat)
    made.data.shade_smooth()
    made.data.set_sharp_from_angle(angle=math.radians(60))


def _board_skin(n, r, which):
    x, y, _ = n.axes(n.coords())
    u = n.math("FRACT", n.add(n.mul(x, 1 / 1.024), r.random()))
    v = n.add(n.mul(y, 0.25 / 0.148), 0.25 * which + 0.125)
    place = n.node("CombineXYZ")
    n.put(place.inputs[0], u)
    n.put(place.inputs[1], v)
    tone = n.channels(n.picture("planks", place.outputs[0]))[0]
    tint = r.uniform(0.75, 1.1)
    base = n.ramp(
        tone,
        [
            (0.18, (0.035, 0.021, 0.012)),
            (0.45, (0.12 * tint, 0.074 * tint, 0.041 * tint)),
            (0.66, (0.215 * tint, 0.143 * tint, 0.085 * tint)),
            (0.9, (0.30 * tint, 0.215 * tint, 0.14 * tint)),
        ],
    )
    fleck, blot, scratch = n.wear(1.9)
    soot = n.step(n.add(n.mul(n.noise(7), 0.7), n.mul(n.noise(60), 0.3)), 0.42, 0.66)
    base = n.mix(n.mul(soot, 0.62), base, (0.050, 0.041, 0.033))
    base = n.mix(n.mul(scratch, 0.30), base, (0.33, 0.27, 0.20))
    oil = n.mul(n.step(n.add(blot, n.mul(n.sub(n.noise(45), 0.5), 0.9)), 0.26, 0.5), 0.7)
    base = n.mix(oil, base, (0.018, 0.012, 0.008))
    base = n.mix(n.mul(n.step(fleck, 0.5, 0.7), 0.7), base, (0.30, 0.29, 0.26))
    height = n.sub(n.add(n.mul(tone, 0.9), n.mul(n.noise(300), 0.25)), n.mul(scratch, 0.6))
    n.finish(
        {"rust": 0.0, "part": 0.0},
        base_color=base,
        roughness=n.blend(oil, n.add(0.55, n.mul(n.noise(90), 0.25)), 0.36),
        normal=n.bump(height, 0.0006),
    )


def _flat(colour, z):
    mat, n = material("under")
    n.finish({"part": 0.0}, base_color=colour, roughness=0.9)
    mesh("under", [(-3000, -3000, z), (3000, -3000, z), (3000, 3000, z), (-3000, 3000, z)], [(0, 1, 2, 3)], mat)


def carton_skin(seed):
    """Corrugated board: flutes, fibres, a strip of brown tape, oil soaked in."""
    mat, n = material("carton", seed)
    _x, y, _ = n.axes(n.coords())
    flute = n.math("SINE", n.mul(y, 2 * math.pi / 0.0066))
    fibre = n.noise(1, n.vec("MULTIPLY", n.where(), (70, 900, 900)))
    wide, speck = n.noise(5), n.noise(650)
    _, blot, scratch = n.wear(1.6)
    base = n.mix(n.step(fibre, 0.3, 0.7), (0.27, 0.175, 0.098), (0.345, 0.235, 0.14))
    base = n.mix(n.mul(n.step(wide, 0.4, 0.7), 0.4), base, (0.20, 0.125, 0.066))
    base = n.mix(n.mul(n.step(speck, 0.62, 0.72), 0.4), base, (0.10, 0.06, 0.03))
    base = n.mix(n.mul(scratch, 0.15), base, (0.40, 0.30, 0.19))
    oil = n.step(n.add(blot, n.mul(n.sub(n.noise(40), 0.5), 0.35)), 0.22, 0.5)
    base = n.mix(n.mul(oil, 0.72), base, (0.062, 0.036, 0.017))
    tape = n.mul(n.step(y, 0.196, 0.1965), n.inv(n.step(y, 0.244, 0.2445)))
    base = n.mix(n.mul(tape, 0.8), base, (0.17, 0.085, 0.03))
    rough = n.blend(tape, n.blend(oil, 0.86, 0.6), 0.22)
    height = n.add(n.mul(n.mul(flute, n.inv(n.mul(tape, 0.6))), 0.22), n.add(n.mul(fibre, 0.04), n.mul(scratch, -0.2)))
    n.finish({"rust": 0.0, "part": 0.0}, base_color=base, roughness=rough, normal=n.bump(height, 0.0004))
    return mat


def cardboard(seed):
    """A flattened carton with a fold across it."""
    r, mat = random.Random(seed), carton_skin(seed)
    crease = r.uniform(170, 220)
    grid_surface(
        lambda a, b: (
            -1.2
            - 1.6 * np.exp(-np.abs(b - crease) / 3)
            + 1.2 * np.sin(a / 190 + 1) * np.sin(b / 150) * (np.hypot(a, b) > 330)
        ),
        1700,
        1300,
        240,
        mat,
    )
    _flat((0.08, 0.06, 0.045), -9)


def concrete(seed):
    """A yard or shed floor: grey, pitted, with oil drips and grit."""
    mat, n = material("concrete", seed)
    wide, mid, fine = n.noise(4), n.noise(30), n.noise(190)
    sand = n.add(n.mul(n.noise(800), 0.6), n.mul(n.noise(347), 0.4))
    _, blot, scratch = n.wear(1.1)
    base = n.mix(n.step(wide, 0.36, 0.66), (0.225, 0.215, 0.20), (0.135, 0.128, 0.118))
    base = n.mix(n.mul(n.step(mid, 0.45, 0.7), 0.45), base, (0.29, 0.28, 0.262))
    base = n.mix(n.mul(n.step(sand, 0.54, 0.64), 0.5), base, (0.075, 0.07, 0.064))
    base = n.mix(n.mul(n.step(n.noise(620), 0.62, 0.68), 0.6), base, (0.40, 0.385, 0.355))
    holes = n.step(n.add(n.mul(n.noise(260), 0.5), n.add(n.mul(n.noise(83), 0.3), n.mul(wide, 0.2))), 0.60, 0.625)
    oil = n.mul(n.step(n.add(blot, n.mul(n.sub(mid, 0.5), 0.6)), 0.3, 0.55), 0.85)
    base = n.mix(oil, base, (0.030, 0.026, 0.022))
    base = n.mix(n.mul(holes, 0.7), base, (0.05, 0.046, 0.042))
    base = n.mix(n.mul(scratch, 0.2), base, (0.36, 0.35, 0.33))
    height = n.sub(n.add(n.mul(fine, 0.5), n.mul(sand, 0.35)), n.mul(holes, 1.0))
    n.finish(
        {"rust": 0.0, "part": 0.0}, base_color=base, roughness=n.blend(oil, 0.85, 0.45), normal=n.bump(height, 0.0009)
    )
    grid_surface(lambda a, b: 0 * a, 6000, 6000, 2, mat)


def steel_top(seed):
    """A steel-topped bench, scratched, filmed with oil, browning."""
    mat, n = material("steel top", seed)
    wide, mid, fine = n.noise(5), n.noise(60), n.noise(420)
    _, blot, scratch = n.wear(2.4)
    _, _, more = n.wear(5.3, n.vec("MULTIPLY", n.where(), (0.6, 1.0, 1.0)))
    scratches = n.peak(scratch, n.mul(more, 0.7))
    base = n.mix(n.step(n.add(n.mul(wide, 0.6), n.mul(mid, 0.4)), 0.4, 0.62), (0.20, 0.196, 0.19), (0.105, 0.10, 0.096))
    rust = n.step(n.add(n.mul(wide, 0.5), n.add(n.mul(mid, 0.35), n.mul(fine, 0.15))), 0.565, 0.66)
    base = n.mix(n.mul(rust, 0.75), base, (0.085, 0.042, 0.020))
    base = n.mix(n.mul(scratches, 0.5), base, (0.42, 0.41, 0.39))
    oil = n.mul(n.step(n.add(blot, n.mul(n.sub(mid, 0.5), 0.8)), 0.28, 0.5), 0.8)
    base = n.mix(oil, base, (0.022, 0.018, 0.013))
    rough = n.blend(oil, n.add(0.34, n.add(n.mul(fine, 0.2), n.mul(rust, 0.3))), 0.20)
    n.finish(
        {"rust": 0.0, "part": 0.0},
        base_color=base,
        roughness=rough,
        metallic=n.mul(n.inv(n.mul(rust, 0.8)), n.inv(oil)),
        normal=n.bump(n.sub(n.mul(fine, 0.25), n.mul(scratches, 0.4)), 0.00025),
    )
    grid_surface(lambda a, b: 0 * a, 3000, 3000, 2, mat)


def sheet(seed):
    """A cotton dust sheet, flat in the middle where things lie, folded and rucked beyond."""
    rng = np.random.default_rng(seed)
    mat, n = material("sheet", seed)
    x, y, _ = n.axes(n.coords())
    weave = n.mul(n.math("SINE", n.mul(x, 7600)), n.math("SINE", n.mul(y, 7600)))
    wide, mid = n.noise(6), n.noise(50)
    _, blot, _ = n.wear(1.5)
    base = n.mix(n.step(wide, 0.35, 0.7), (0.30, 0.285, 0.245), (0.215, 0.20, 0.165))
    line = n.math("FRACT", n.mul(n.add(x, n.mul(n.noise(3), 0.01)), 1 / 0.085))
    stripe = n.peak(
        n.mul(n.step(line, 0.40, 0.405), n.inv(n.step(line, 0.46, 0.465))),
        n.mul(n.step(line, 0.49, 0.495), n.inv(n.step(line, 0.51, 0.515))),
    )
    base = n.mix(n.mul(stripe, 0.75), base, (0.035, 0.06, 0.11))
    base = n.mix(n.mul(n.step(n.add(blot, n.mul(n.sub(mid, 0.5), 0.5)), 0.2, 0.6), 0.6), base, (0.115, 0.085, 0.055))
    base = n.mix(n.mul(n.step(n.noise(16), 0.56, 0.7), 0.35), base, (0.16, 0.075, 0.035))
    n.finish(
        {"rust": 0.0, "part": 0.0},
        base_color=base,
        roughness=0.92,
        normal=n.bump(n.add(n.mul(weave, 0.4), mid), 0.0004),
    )
    waves = [(rng.uniform(0.006, 0.02), rng.uniform(0, math.pi), rng.uniform(0, 6)) for _ in range(14)]

    def folds(a, b):
        total = sum(
            (1 - np.abs(np.sin(k / 2 * (a * math.cos(t) + b * math.sin(t)) + p))) ** 4 * 0.22 / k for k, t, p in waves
        )
        outside = np.clip((np.hypot(a, b * 1.1) - 190) / 170, 0, 1)
        return total * outside**1.5 * 0.55 - 0.02

    grid_surface(folds, 1800, 1500, 420, mat)


def hardboard(seed):
    """Brown hardboard, waxy, ringed by tins, splashed with old paint."""
    mat, n = material("hardboard", seed)
    wide, mid, fine = n.noise(5), n.noise(60), n.noise(700)
    fleck, blot, scratch = n.wear(1.5)
    base = n.mix(n.step(fine, 0.3, 0.7), (0.122, 0.066, 0.034), (0.150, 0.084, 0.046))
    base = n.mix(n.mul(n.step(wide, 0.4, 0.65), 0.5), base, (0.075, 0.042, 0.025))
    base = n.mix(n.mul(scratch, 0.5), base, (0.27, 0.18, 0.11))
    base = n.mix(n.step(fleck, 0.35, 0.5), base, (0.26, 0.33, 0.30))
    oil = n.mul(n.step(n.add(blot, n.mul(n.sub(mid, 0.5), 0.4)), 0.2, 0.45), 0.7)
    base = n.mix(oil, base, (0.016, 0.010, 0.007))
    n.finish(
        {"rust": 0.0, "part": 0.0},
        base_color=base,
        roughness=n.blend(oil, n.add(0.44, n.mul(mid, 0.25)), 0.3),
        normal=n.bump(n.sub(n.mul(fine, 0.1), n.mul(scratch, 0.7)), 0.00008),
    )
    grid_surface(lambda a, b: 0 * a, 3000, 3000, 2, mat)


def newspaper(seed):
    """Old newspaper spread over the bench: columns of print nobody can read, yellowed, creased, oily."""
    r = random.Random(seed)
    boards(seed)
    for k, (x, y, yaw) in enumerate(((-150, 110, 184), (190, 90, 96), (20, -90, 174))):
        _sheet_of_news(seed + k, (x + r.uniform(-20, 20), y + r.uniform(-15, 15), yaw + r.uniform(-4, 4)), 0.25 * k)


def _sheet_of_news(seed, laid, lift):
    x0, y0, yaw = laid
    mat, n = material("newspaper", seed)
    ink = n.picture("newsprint", n.coords("UV"), "EXTEND")
    wide, mid = n.noise(5), n.noise(60)
    paper = n.mix(n.step(wide, 0.35, 0.68), (0.46, 0.405, 0.30), (0.36, 0.30, 0.205))
    base = n.mix(n.channels(ink)[0], (0.052, 0.050, 0.047), paper)
    _, blot, _ = n.wear(1.7)
    oil = n.mul(n.step(n.add(blot, n.mul(n.sub(mid, 0.5), 0.5)), 0.22, 0.5), 0.75)
    base = n.mix(oil, base, (0.085, 0.063, 0.038))
    n.finish({"rust": 0.0, "part": 0.0}, base_color=base, roughness=n.blend(oil, 0.85, 0.5), normal=n.bump(mid, 0.0003))
    count, turn = 120, math.radians(yaw)

    def lie(a, b):
        """Flat in the middle, where things lie; all sheets wave alike, so that none cuts through another."""
        x, y = a * math.cos(turn) - b * math.sin(turn) + x0, a * math.sin(turn) + b * math.cos(turn) + y0
        fold = 0.12 * np.exp(-np.abs(a) / 2.5) + 0.10 * np.exp(-np.abs(b - 8) / 2.0)
        loose = np.clip(np.hypot(x, y) / 100 - 2, 0, 1)
        return lift + 0.12 + fold + loose * (0.8 + 0.8 * np.sin(x / 61) * np.sin(y / 47))

    made = grid_surface(lie, 380, 560, count, mat, "newspaper")
    held = made.data.uv_layers.new(name="UVMap")
    for loop in made.data.loops:
        i, j = divmod(loop.vertex_index, count)
        held.data[loop.index].uv = (i / (count - 1), j / (count - 1))
    move(made, (x0, y0, 0), (0, 0, yaw))


BENCHES = {each.__name__: each for each in (boards, cardboard, concrete, steel_top, sheet, hardboard, newspaper)}
