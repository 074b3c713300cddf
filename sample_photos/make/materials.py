"""What parts are made of: painted, plated and bare steel, alloy, zinc, brass, rubber, and what time did to them."""

from __future__ import annotations

from nodes import material

RUST = [
    (0.28, (0.014, 0.007, 0.005)),
    (0.46, (0.050, 0.020, 0.010)),
    (0.60, (0.12, 0.044, 0.016)),
    (0.78, (0.25, 0.10, 0.036)),
]
PART = 1.0


def _rust_field(n, scale, rust, weighted):
    """Mask of rust, mask of metal already bared around it, and the field both come from."""
    field = n.add(n.mul(n.noise(scale), 0.70), n.mul(n.noise(scale * 5), 0.30))
    if weighted:
        field = n.add(field, n.attribute("rusty"))
    edge = 0.72 - 0.42 * rust
    mask = n.step(field, edge - 0.012, edge + 0.012)
    pins = n.mul(n.step(n.noise(230), 0.62, 0.66), n.step(field, edge - 0.12, edge - 0.02))
    return n.peak(mask, pins), n.step(field, edge - 0.034, edge - 0.024), field


def _rust_colour(n):
    fine, mid = n.noise(420), n.noise(75)
    return n.ramp(n.add(n.mul(fine, 0.45), n.mul(mid, 0.6)), RUST), n.add(n.mul(fine, 0.75), n.mul(mid, 0.9)), mid


def _dirt(n, grime, blot):
    cloud = n.mul(n.step(n.noise(14), 0.50, 0.68), grime)
    return n.peak(cloud, n.mul(blot, grime * 0.6))


def painted(
    seed, colour, rust=0.4, scale=16, gloss=0.30, grime=0.25, dust=0.25, weighted=True, stripe=None, crack=False
):
    """Stove enamel over red oxide over steel, chipped and rusted. Attribute `rusty` adds rust, `stripe` a line."""
    mat, n = material("painted", seed)
    rusted, bare, _ = _rust_field(n, scale, rust, weighted)
    rust_colour, rust_height, mid = _rust_colour(n)
    _, blot, scratch = n.wear(3.3)
    wide = n.noise(scale * 0.6)
    paint = n.mix(n.step(wide, 0.36, 0.66), colour, tuple(c * 0.78 for c in colour))
    if stripe:
        line = n.inv(n.step(n.math("ABSOLUTE", n.attribute("stripe")), 1.25, 1.45))
        paint = n.mix(line, paint, stripe)
    kept = n.inv(n.peak(bare, n.mul(scratch, 0.8)))
    under = n.mix(n.step(n.noise(scale * 4), 0.48, 0.54), (0.15, 0.045, 0.03), (0.22, 0.21, 0.20))
    base = n.mix(kept, under, paint)
    dusty = n.mul(n.mul(n.upward(), n.add(0.45, n.mul(n.step(n.noise(90), 0.35, 0.7), 0.55))), dust)
    base = n.mix(dusty, base, (0.22, 0.195, 0.155))
    dirt = _dirt(n, grime, blot)
    base = n.mix(n.mul(dirt, 0.8), n.mix(rusted, base, rust_colour), (0.014, 0.011, 0.009))
    rough = n.blend(rusted, n.add(n.add(gloss, n.mul(mid, 0.16)), n.mul(dusty, 0.4)), 0.92)
    height = n.add(n.mul(rusted, rust_height), n.mul(n.inv(bare), 0.9))
    height = n.sub(height, n.mul(scratch, 0.25))
    labels = {"rust": rusted, "part": PART}
    if crack:
        base, rough, height = _crack(n, base, rough, height, labels)
    n.finish(labels, base_color=base, roughness=rough, metallic=n.mul(n.inv(kept), 0.4), normal=n.bump(height, 0.00042))
    return mat


def _crack(n, base, rough, height, labels):
    """A crack whose distance is the attribute `crack` (1 on the line), with rust wept from it."""
    near = n.attribute("crack")
    jag = n.mul(n.sub(n.noise(300), 0.5), 0.5)
    wept = n.step(n.add(near, jag), 0.25, 0.95)
    line = n.step(n.add(near, n.mul(jag, 0.16)), 0.905, 0.935)
    chipped = n.step(n.add(near, n.mul(jag, 0.9)), 0.70, 0.74)
    base = n.mix(n.mul(wept, 0.7), base, (0.17, 0.06, 0.02))
    base = n.mix(n.mul(chipped, 0.9), base, (0.20, 0.165, 0.14))
    base = n.mix(line, base, (0.006, 0.004, 0.003))
    labels["mark"] = line
    return base, n.blend(chipped, rough, 0.9), n.sub(height, n.add(n.mul(line, 3.2), n.mul(chipped, 0.9)))


def steel(seed, rust=0.4, scale=28, tone=0.25, rough=0.42, grime=0.35, dust=0.2, weighted=False, part=PART):
    """Bare or long unplated steel."""
    mat, n = material("steel", seed)
    rusted, _, _ = _rust_field(n, scale, rust, weighted)
    rust_colour, rust_height, mid = _rust_colour(n)
    _, blot, scratch = n.wear(6.0)
    bright = n.mix(n.step(mid, 0.4, 0.65), (tone, tone * 0.97, tone * 0.93), (tone * 0.6, tone * 0.58, tone * 0.55))
    bright = n.mix(n.mul(scratch, 0.45), bright, (0.55, 0.53, 0.50))
    dusty = n.mul(n.mul(n.upward(), n.step(n.noise(70), 0.3, 0.7)), dust)
    dirt = _dirt(n, grime, blot)
    base = n.mix(dirt, n.mix(rusted, n.mix(dusty, bright, (0.24, 0.21, 0.17)), rust_colour), (0.013, 0.010, 0.008))
    metal = n.mul(n.mul(n.inv(rusted), n.inv(n.mul(dirt, 0.7))), n.inv(n.mul(dusty, 0.8)))
    roughness = n.blend(dirt, n.blend(rusted, n.add(rough - 0.12, n.mul(mid, 0.3)), 0.92), 0.45)
    height = n.sub(n.add(n.mul(rusted, rust_height), n.mul(mid, 0.12)), n.mul(scratch, 0.2))
    n.finish(
        {"rust": rusted, "part": part},
        base_color=base,
        roughness=roughness,
        metallic=n.mul(metal, 0.96),
        normal=n.bump(height, 0.00035),
    )
    return mat


def chrome(seed, pits=0.5, scale=22, haze=0.3, weighted=False):
    """Chrome over nickel: mirror, hazed, freckled with rust pits and, where it is worst, lifting."""
    mat, n = material("chrome", seed)
    cloud = n.add(n.mul(n.noise(scale), 0.75), n.mul(n.noise(scale * 6), 0.25))
    if weighted:
        cloud = n.add(cloud, n.attribute("rusty"))
    worst = n.step(cloud, 0.80 - 0.34 * pits, 0.815 - 0.34 * pits)
    density = n.step(cloud, 0.66 - 0.42 * pits, 0.78 - 0.30 * pits)
    freckle = n.sub(n.add(n.mul(n.noise(520), 0.6), n.mul(n.noise(1300), 0.4)), n.mul(n.inv(density), 0.14))
    spots = n.mul(n.step(freckle, 0.555, 0.585), n.step(density, 0.02, 0.12))
    rusted = n.peak(worst, spots)
    stain = n.mul(n.step(n.add(freckle, n.mul(density, 0.05)), 0.45, 0.60), n.mul(density, 0.55))
    rust_colour, rust_height, mid = _rust_colour(n)
    _, _blot, scratch = n.wear(5.0)
    base = n.mix(n.mul(scratch, 0.25), (0.58, 0.585, 0.59), (0.42, 0.42, 0.42))
    base = n.mix(n.mul(stain, 0.7), base, (0.20, 0.11, 0.055))
    dusty = n.mul(n.mul(n.upward(), n.add(0.5, n.mul(n.noise(60), 0.6))), haze)
    base = n.mix(n.mul(dusty, 0.6), base, (0.27, 0.25, 0.21))
    base = n.mix(rusted, base, rust_colour)
    rough = n.blend(rusted, n.add(0.06, n.add(n.mul(dusty, 0.35), n.add(n.mul(stain, 0.3), n.mul(scratch, 0.12)))), 0.9)
    metal = n.mul(n.inv(rusted), n.inv(n.mul(dusty, 0.5)))
    height = n.add(n.mul(rusted, n.sub(n.mul(rust_height, 0.8), 0.55)), n.mul(mid, 0.02))
    n.finish(
        {"rust": rusted, "part": PART}, base_color=base, roughness=rough, metallic=metal, normal=n.bump(height, 0.00025)
    )
    return mat


def alloy(seed, cast=True, oxide=0.5, grime=0.5, tone=0.46, weighted=False, tint=(1.0, 1.0, 0.98)):
    """Aluminium (or, darker and tinted, zinc) as cast or machined, with white bloom and old oil."""
    mat, n = material("alloy", seed)
    wide, sand, fine = n.noise(22), n.noise(260), n.noise(900)
    _, blot, scratch = n.wear(5.5)
    light = tuple(tone * c for c in tint)
    base = n.mix(n.step(wide, 0.38, 0.66), light, tuple(c * 0.62 for c in light))
    bloom = n.mul(n.step(n.add(n.mul(wide, 0.55), n.mul(sand, 0.45)), 0.56 - 0.12 * oxide, 0.66), oxide)
    dirt_field = n.add(n.noise(18), n.mul(n.noise(120), 0.18))
    if weighted:
        dirt_field = n.add(dirt_field, n.attribute("rusty"))
    dirt = n.peak(n.mul(n.step(dirt_field, 0.56, 0.76), grime), n.mul(blot, grime * 0.5))
    base = n.mix(n.mul(scratch, 0.5), base, tuple(min(1.0, c * 1.45) for c in light))
    base = n.mix(bloom, base, (0.43, 0.43, 0.41))
    base = n.mix(dirt, base, (0.030, 0.022, 0.014))
    metal = n.mul(n.inv(n.mul(bloom, 0.85)), n.inv(n.mul(dirt, 0.92)))
    rough = n.blend(dirt, n.add(0.36 if cast else 0.20, n.mul(sand, 0.3)), 0.52)
    grain = n.add(n.mul(fine, 0.5 if cast else 0.06), n.mul(sand, 0.7 if cast else 0.10))
    height = n.sub(grain, n.mul(scratch, 0.3))
    n.finish(
        {"rust": 0.0, "part": PART},
        base_color=base,
        roughness=rough,
        metallic=metal,
        normal=n.bump(height, 0.00038 if cast else 0.00014),
    )
    return mat


def brass(seed, grime=0.4):
    """Brass gone brown."""
    mat, n = material("brass", seed)
    wide, fine = n.noise(60), n.noise(400)
    base = n.mix(n.step(wide, 0.4, 0.62), (0.33, 0.205, 0.075), (0.15, 0.085, 0.034))
    dirt = n.mul(n.step(n.add(n.mul(wide, 0.5), n.mul(fine, 0.5)), 0.5, 0.66), grime)
    base = n.mix(dirt, base, (0.025, 0.030, 0.018))
    n.finish(
        {"rust": 0.0, "part": PART},
        base_color=base,
        roughness=n.add(0.26, n.mul(fine, 0.25)),
        metallic=n.inv(dirt),
        normal=n.bump(fine, 0.00012),
    )
    return mat


def rubber(seed, perished=0.6, weighted=False, scale=190):
    """Old black rubber: grey bloom, and cracks where it has perished."""
    mat, n = material("rubber", seed)
    wide, fine = n.noise(30), n.noise(500)
    warp = n.vec("ADD", n.where(), n.vec("MULTIPLY", n.mix(1.0, (0, 0, 0), n.noise(120)), (0.004, 0.004, 0.004)))
    far = n.cells(scale, "DISTANCE_TO_EDGE", warp)
    small = n.cells(scale * 2.7, "DISTANCE_TO_EDGE", warp)
    open_ = n.add(wide, n.mul(n.sub(n.noise(150), 0.5), 0.6))
    if weighted:
        open_ = n.add(open_, n.attribute("rusty"))
    gate = n.step(open_, 0.60 - 0.3 * perished, 0.72 - 0.3 * perished)
    crack = n.mul(n.inv(n.step(far, 0.015, 0.075)), gate)
    crack = n.peak(crack, n.mul(n.mul(n.inv(n.step(small, 0.0, 0.07)), gate), 0.45))
    base = n.mix(
        n.step(n.add(n.mul(wide, 0.6), n.mul(fine, 0.4)), 0.38, 0.66), (0.030, 0.029, 0.028), (0.095, 0.090, 0.082)
    )
    base = n.mix(n.mul(n.step(n.noise(70), 0.5, 0.75), 0.35), base, (0.15, 0.125, 0.095))
    base = n.mix(n.mul(gate, 0.25), base, (0.13, 0.125, 0.115))
    base = n.mix(crack, base, (0.004, 0.004, 0.004))
    height = n.sub(n.mul(fine, 0.2), n.mul(crack, 1.3))
    n.finish(
        {"rust": 0.0, "part": PART, "mark": n.step(crack, 0.4, 0.6)},
        base_color=base,
        roughness=n.add(0.5, n.mul(wide, 0.4)),
        normal=n.bump(height, 0.0004),
    )
    return mat


def fracture(seed, tone=0.32):
    """The granular grey face of a break, browning."""
    mat, n = material("fracture", seed)
    grain, patch = n.noise(900), n.noise(130)
    grey = n.ramp(grain, [(0.3, (tone * 0.35,) * 3), (0.7, (tone * 1.25,) * 3)])
    base = n.mix(n.mul(n.step(patch, 0.44, 0.62), 0.8), grey, (0.13, 0.05, 0.02))
    n.finish(
        {"rust": 0.0, "part": PART, "mark": 1.0},
        base_color=base,
        metallic=0.6,
        roughness=0.55,
        normal=n.bump(grain, 0.0006),
    )
    return mat


def plain(seed, colour, rough=0.6, metal=0.0, spread=0.25, part=PART):
    """One colour with a little cloud in it, for holes' insides, cloth, plastic and the like."""
    mat, n = material("plain", seed)
    cloud, fine = n.noise(40), n.noise(500)
    base = n.mix(n.step(cloud, 0.35, 0.65), colour, tuple(c * (1 - spread) for c in colour))
    n.finish(
        {"rust": 0.0, "part": part},
        base_color=base,
        roughness=n.add(rough - 0.1, n.mul(fine, 0.2)),
        metallic=metal,
        normal=n.bump(fine, 0.00012),
    )
    return mat
