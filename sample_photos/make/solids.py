"""Shapes: meshes from numpy in millimetres, plates, turned work, threads, castings fused with fillets."""

from __future__ import annotations

import itertools
import math

import bpy
import numpy as np
from mathutils import Matrix, Vector

MM = 0.001


def link(data, name):
    made = bpy.data.objects.new(name, data)
    bpy.context.scene.collection.objects.link(made)
    return made


def mesh(name, points, faces, mat=None, sharp=40.0, **weights):
    """An object from points in mm; weights become vertex attributes; edges over `sharp` degrees stay crisp."""
    data = bpy.data.meshes.new(name)
    data.from_pydata((np.asarray(points, float) * MM).tolist(), [], [tuple(int(i) for i in f) for f in faces])
    data.update()
    for key, values in weights.items():
        data.attributes.new(key, "FLOAT", "POINT").data.foreach_set("value", np.asarray(values, np.float32).ravel())
    made = link(data, name)
    shade(made, sharp)
    if mat:
        data.materials.append(mat)
    return made


def shade(made, sharp=40.0):
    made.data.shade_smooth()
    made.data.set_sharp_from_angle(angle=math.radians(sharp))


def move(made, at=(0, 0, 0), turn=(0, 0, 0)):
    """Turn by XYZ degrees about its own origin, then move by mm, baked into the mesh."""
    matrix = Matrix.Translation(Vector(at) * MM)
    for axis, angle in zip("ZYX", reversed(turn), strict=True):
        matrix = matrix @ Matrix.Rotation(math.radians(angle), 4, axis)
    made.data.transform(matrix)
    return made


def paint(made, mat):
    made.data.materials.clear()
    made.data.materials.append(mat)
    return made


def weight(made, name, rule):
    """Vertex attribute from rule(points in mm, n x 3) -> n."""
    points = vertices(made)
    held = made.data.attributes.get(name) or made.data.attributes.new(name, "FLOAT", "POINT")
    held.data.foreach_set("value", np.asarray(rule(points), np.float32) + np.zeros(len(points), np.float32))
    return made


def vertices(made):
    points = np.empty(len(made.data.vertices) * 3, np.float32)
    made.data.vertices.foreach_get("co", points)
    return points.reshape(-1, 3).astype(float) / MM


def reshape(made, rule):
    """Move every vertex: rule(points in mm, n x 3) -> points."""
    points = np.asarray(rule(vertices(made)), np.float32) * MM
    made.data.vertices.foreach_set("co", points.ravel())
    made.data.update()
    return made


def quads(n, m, wrap_n=False, wrap_m=False, flip=False):
    """Faces of an n x m grid of points."""
    i, j = np.meshgrid(np.arange(n if wrap_n else n - 1), np.arange(m if wrap_m else m - 1), indexing="ij")
    a, b = i * m + j, ((i + 1) % n) * m + j
    c, d = ((i + 1) % n) * m + (j + 1) % m, i * m + (j + 1) % m
    faces = np.stack([a, b, c, d], -1).reshape(-1, 4)
    return faces[:, ::-1] if flip else faces


def circle(x, y, d, n=64):
    th = np.linspace(0, 2 * np.pi, n, endpoint=False)
    return np.c_[x + d / 2 * np.cos(th), y + d / 2 * np.sin(th)]


def arc(x, y, r, start, stop, n=24):
    th = np.radians(np.linspace(start, stop, n))
    return np.c_[x + r * np.cos(th), y + r * np.sin(th)]


def box_outline(wide, high, r, x=0.0, y=0.0):
    """Rectangle with rounded corners, centred."""
    a, b = wide / 2 - r, high / 2 - r
    corners = ((a, b, 0), (-a, b, 90), (-a, -b, 180), (a, -b, 270))
    return np.vstack([arc(x + cx, y + cy, r, s, s + 90, 10) for cx, cy, s in corners])


def dense(profile, gap=1.5):
    """A polyline with points no further apart than gap."""
    out = [np.asarray(profile[0], float)]
    for p, q in itertools.pairwise(profile):
        p, q = np.asarray(p, float), np.asarray(q, float)
        k = max(1, int(np.linalg.norm(q - p) / gap))
        out += [p + (q - p) * i / k for i in range(1, k + 1)]
    return np.array(out)


def revolve(profile, mat=None, n=128, at=(0, 0, 0), turn=(0, 0, 0), sharp=32.0):
    """Turned work: (radius, height) points swept about z. The profile runs counter-clockwise for outward faces."""
    pr = np.asarray(profile, float)
    th = np.linspace(0, 2 * np.pi, n, endpoint=False)
    x, y = np.cos(th)[:, None] * pr[None, :, 0], np.sin(th)[:, None] * pr[None, :, 0]
    points = np.stack([x, y, np.broadcast_to(pr[None, :, 1], x.shape)], -1).reshape(-1, 3)
    made = mesh("turned", points, quads(n, len(pr), wrap_n=True), mat, sharp)
    tidy(made)
    return move(made, at, turn)


def tidy(made):
    """Weld doubled points and turn faces outward."""
    bpy.context.view_layer.objects.active = made
    made.select_set(True)
    bpy.ops.object.mode_set(mode="EDIT")
    bpy.ops.mesh.select_all(action="SELECT")
    bpy.ops.mesh.remove_doubles(threshold=1e-6)
    bpy.ops.mesh.normals_make_consistent(inside=False)
    bpy.ops.object.mode_set(mode="OBJECT")
    made.select_set(False)


def rod(r, h, at=(0, 0, 0), turn=(0, 0, 0), mat=None, bevel=0.4, n=64):
    """Solid cylinder standing on its base centre."""
    b = min(bevel, r * 0.5, h * 0.5)
    soft = [(r - b, 0), (r - b * 0.3, b * 0.3), (r, b), (r, h - b), (r - b * 0.3, h - b * 0.3), (r - b, h)]
    profile = [(0, 0), *soft, (0, h)] if b else [(0, 0), (r, 0), (r, h), (0, h)]
    return revolve(profile, mat, n, at, turn)


def ring(outer, inner, h, at=(0, 0, 0), turn=(0, 0, 0), mat=None, bevel=0.4, n=96):
    """Hollow cylinder, radii."""
    b = bevel
    profile = [
        (inner, b),
        (inner + b, 0),
        (outer - b, 0),
        (outer, b),
        (outer, h - b),
        (outer - b, h),
        (inner + b, h),
        (inner, h - b),
        (inner, b),
    ]
    return revolve(profile, mat, n, at, turn)


def tube(path, r, mat=None, n=24, caps=True, **weights):
    """A round bar or wire along a path, radius constant or per point."""
    path = np.asarray(path, float)
    count = len(path)
    radii = np.broadcast_to(r, (count,))
    along = np.gradient(path, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    side = np.cross(along[0], (0, 0, 1.0) if abs(along[0][2]) < 0.9 else (1.0, 0, 0))
    th = np.linspace(0, 2 * np.pi, n, endpoint=False)
    rings = []
    for i in range(count):
        side = side - along[i] * side.dot(along[i])
        side /= np.linalg.norm(side)
        other = np.cross(along[i], side)
        rings.append(path[i] + radii[i] * (np.cos(th)[:, None] * side + np.sin(th)[:, None] * other))
    faces = quads(count, n, wrap_m=True, flip=True).tolist()
    if caps:
        faces += [list(range(n)), list(range((count - 1) * n, count * n))[::-1]]
    spread = {key: np.repeat(np.broadcast_to(v, (count,)), n) for key, v in weights.items()}
    return mesh("tube", np.concatenate(rings), faces, mat, 40.0, **spread)


def plate(outline, holes=(), thick=3.0, bevel=0.3, mat=None, at=(0, 0, 0), turn=(0, 0, 0)):
    """A flat plate with holes and broken edges; its underside at z = 0 before it is moved."""
    curve = bpy.data.curves.new("plate", "CURVE")
    curve.dimensions, curve.fill_mode = "2D", "BOTH"
    curve.extrude, curve.bevel_depth = (thick / 2 - bevel) * MM, bevel * MM
    curve.bevel_resolution, curve.offset = 2, -bevel * MM
    for points in [outline, *holes]:
        line = curve.splines.new("POLY")
        line.points.add(len(points) - 1)
        line.use_cyclic_u = True
        for held, (x, y) in zip(line.points, points, strict=True):
            held.co = (x * MM, y * MM, 0, 1)
    rough = link(curve, "plate")
    data = bpy.data.meshes.new_from_object(rough.evaluated_get(bpy.context.evaluated_depsgraph_get()))
    bpy.data.objects.remove(rough)
    data.materials.clear()
    made = link(data, "plate")
    if mat:
        data.materials.append(mat)
    move(made, (0, 0, thick / 2))
    shade(made)
    return move(made, at, turn)


def apply_modifiers(made):
    data = bpy.data.meshes.new_from_object(made.evaluated_get(bpy.context.evaluated_depsgraph_get()))
    made.modifiers.clear()
    made.data = data
    return made


def fuse(objects, voxel=0.8, smooth=5, mat=None):
    """Overlapping closed solids into one casting with fillets."""
    bpy.ops.object.select_all(action="DESELECT")
    for each in objects:
        each.select_set(True)
    bpy.context.view_layer.objects.active = objects[0]
    if len(objects) > 1:
        bpy.ops.object.join()
    made = objects[0]
    change = made.modifiers.new("fuse", "REMESH")
    change.mode, change.voxel_size = "VOXEL", voxel * MM
    if smooth:
        soften = made.modifiers.new("soften", "SMOOTH")
        soften.iterations, soften.factor = smooth, 0.5
    apply_modifiers(made)
    made.select_set(False)
    shade(made, 60)
    return paint(made, mat) if mat else made


def cut(made, tools, sharp=45.0):
    """Take the tools' volume away."""
    mats, before = list(made.data.materials), len(made.data.vertices)
    held = bpy.data.collections.new("tools")
    bpy.context.scene.collection.children.link(held)
    for tool in tools:
        tidy(tool)
        held.objects.link(tool)
    change = made.modifiers.new("cut", "BOOLEAN")
    change.operation, change.solver = "DIFFERENCE", "MANIFOLD"
    change.operand_type, change.collection = "COLLECTION", held
    apply_modifiers(made)
    if len(made.data.vertices) == before:  # some shape is not closed: the slow way, which minds less
        _cut_one_by_one(made, tools)
    for tool in tools:
        bpy.data.objects.remove(tool)
    bpy.data.collections.remove(held)
    shade(made, sharp)
    made.data.materials.clear()  # the cut leaves empty slots behind
    return paint(made, mats[0]) if mats else made


def _cut_one_by_one(made, tools):
    for tool in tools:
        change = made.modifiers.new("cut", "BOOLEAN")
        change.operation, change.solver, change.object = "DIFFERENCE", "EXACT", tool
        change.material_mode = "INDEX"
    apply_modifiers(made)


def thread(d, pitch, length, mat=None, at=(0, 0, 0), turn=(0, 0, 0), snapped=0.0, seed=0, cap=None, n=72):
    """External thread standing on its base; `snapped` mm of unevenness makes its end a break in material `cap`."""
    rng = np.random.default_rng(seed)
    rows = max(8, int(length / pitch * 14))
    z, th = np.linspace(0, length, rows), np.linspace(0, 2 * np.pi, n, endpoint=False)
    wave = np.abs((z[:, None] / pitch - th[None] / (2 * np.pi)) % 1 - 0.5) * 2
    r = d / 2 - 0.6134 * pitch * np.clip((wave - 0.12) / 0.8, 0, 1)
    if not snapped:
        r = np.minimum(r, d / 2 - 0.2 * pitch + (length - z)[:, None] - 0.4)
    heights = np.broadcast_to(z[:, None], r.shape).copy()
    if snapped:
        top = length + snapped * (np.cos(th - 0.6) * 0.8 + 0.35 * np.cos(3 * th) + 0.15 * rng.normal(size=n))
        heights *= (top / length)[None]
    points = np.stack([r * np.cos(th), r * np.sin(th), heights], -1)
    shaft = mesh("thread", points.reshape(-1, 3), quads(rows, n, wrap_m=True, flip=True), mat, 60)
    end = _thread_end(points[-1], snapped, rng, cap or mat)
    return [move(shaft, at, turn), move(end, at, turn)]


def _thread_end(rim, snapped, rng, mat):
    n, levels = len(rim), 14
    middle = rim[:, 2].mean()
    rings = []
    for q in np.linspace(1, 0.04, levels):
        z = (rim[:, 2] - middle) * q**0.7 + middle
        if snapped and q < 0.99:
            z = (
                z
                + rng.normal(size=n) * 0.10
                + 0.5 * snapped * (1 - q) * np.cos(2 * np.arctan2(rim[:, 1], rim[:, 0]) + 1)
            )
        rings.append(np.c_[rim[:, 0] * q, rim[:, 1] * q, z])
    faces = [*quads(levels, n, wrap_m=True, flip=True).tolist(), list(range((levels - 1) * n, levels * n))[::-1]]
    return mesh("end", np.concatenate(rings), faces, mat, 180 if snapped else 40)


def hexagon(flats):
    th = np.radians(np.arange(6) * 60 + 30)
    return np.c_[np.cos(th), np.sin(th)] * flats / math.sqrt(3)


def nut(flats, bore, h, mat, at=(0, 0, 0), turn=(0, 0, 0)):
    """A hexagon nut with chamfered corners."""
    made = plate(hexagon(flats), [circle(0, 0, bore, 32)], h, 0.5, mat)
    return move(made, at, turn)


def bolt(d, pitch, length, flats, head, mat, seed=0):
    """A hexagon bolt lying on nothing yet: head at z < 0, shank up to `length`."""
    plain = length * 0.45
    parts = [
        plate(hexagon(flats), [], head, 0.6, mat, at=(0, 0, -head)),
        rod(d / 2 - 0.05, plain + 0.2, mat=mat, bevel=0.05),
    ]
    return parts + thread(d, pitch, length - plain, mat, at=(0, 0, plain), seed=seed)


def join(objects):
    """Several objects as one mesh (materials kept)."""
    bpy.ops.object.select_all(action="DESELECT")
    for each in objects:
        each.select_set(True)
    bpy.context.view_layer.objects.active = objects[0]
    bpy.ops.object.join()
    objects[0].select_set(False)
    return objects[0]


def orient(made, origin, x, y):
    """Carry a part from its own axes to an origin (mm) with its x and y along these directions."""
    x, y = Vector(x).normalized(), Vector(y).normalized()
    z = x.cross(y)
    made.data.transform(Matrix.Translation(Vector(origin) * MM) @ Matrix((x, y, z)).transposed().to_4x4())
    return made


def thicken(made, thick, offset=-1.0):
    """Give a surface a sheet thickness, inwards by default."""
    change = made.modifiers.new("thick", "SOLIDIFY")
    change.thickness, change.offset = thick * MM, offset
    return apply_modifiers(made)
