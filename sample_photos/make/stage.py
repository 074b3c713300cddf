"""The scene: a subject set down on a bench, a tally card, window and lamp, the phone held over it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import bpy
import numpy as np
from bpy_extras.object_utils import world_to_camera_view
from mathutils import Matrix, Vector
from nodes import Nodes, material
from scipy.spatial import ConvexHull, QhullError
from solids import MM, link, mesh, move, quads, vertices
from textures import CARDS, baked, card_origins


@dataclass
class Subject:
    """A modelled part: its meshes and what is known of it, all in mm in the part's own frame."""

    objects: list
    points: dict = field(default_factory=dict)
    holes: dict = field(default_factory=dict)  # name -> (centre point, diameter mm)
    lengths: list = field(default_factory=list)  # (name, point, point)
    facts: dict = field(default_factory=dict)
    frame: Matrix = field(default_factory=lambda: Matrix.Identity(4))

    def world(self, point):
        """A point of the part's frame, in metres in the scene."""
        return self.frame @ (Vector(point) * MM)


def clear():
    """An empty Blender file."""
    bpy.ops.wm.read_factory_settings(use_empty=True)


def rest(points):
    """The turn that sets a body of these points (n x 3) down on the face of its hull nearest below it."""
    middle = points.mean(axis=0)
    try:
        hull = ConvexHull(points)
    except QhullError:
        return Matrix.Identity(3)
    best, normal = -2.0, np.array([0, 0, -1.0])
    for simplex, plane in zip(hull.simplices, hull.equations, strict=True):
        facing = plane[:3] @ (0, 0, -1.0)
        if facing > best and _above(points[simplex], plane[:3], middle):
            best, normal = facing, plane[:3]
    return Vector(normal).rotation_difference(Vector((0, 0, -1))).to_matrix()


def _above(corners, normal, point):
    """Whether the point falls within the triangle when let drop along its normal."""
    signs = []
    for i in range(3):
        a, b = corners[i], corners[(i + 1) % 3]
        signs.append(np.cross(b - a, point - a) @ normal)
    return min(signs) >= -1e-9 or max(signs) <= 1e-9


def place(subject, at=(0, 0), turn=(0, 0, 0), settle=True, lift=0.0):
    """Turn by degrees, let it settle on the bench, move to at (mm); meshes keep their own texture frame."""
    spin = Matrix.Identity(3)
    for axis, angle in zip("ZYX", reversed(turn), strict=True):
        spin = spin @ Matrix.Rotation(math.radians(angle), 3, axis)
    cloud = np.concatenate([vertices(o) for o in subject.objects])
    if settle:
        spin = rest(cloud @ np.array(spin).T) @ spin
    low = (cloud @ np.array(spin).T)[:, 2].min()
    shift = Vector((at[0], at[1], lift - low + 0.05)) * MM
    subject.frame = Matrix.Translation(shift) @ spin.to_4x4()
    for each in subject.objects:
        each.matrix_world = subject.frame
    bpy.context.view_layer.update()
    return subject


def card(size, tally, at, yaw):
    """Lay a tally card flat; returns the sixteen marker corners in metres, [corner][point], and its middle."""
    wide, high, marker, _, _ = CARDS[size]
    thick = 1.3 if size == "a6" else 0.9
    mat, n = material("card", tally)
    ink = n.picture(f"card-{size}-{tally}", n.coords("UV"), "EXTEND", data=False)
    soil = n.mix(n.mul(n.step(n.noise(26), 0.46, 0.74), 0.45), (0.70, 0.685, 0.645), (0.46, 0.40, 0.32))
    base = n.mix(1.0, ink, soil, "MULTIPLY")
    base = n.mix(0.016, base, (1, 1, 1), "ADD")
    n.finish({"rust": 0.0, "part": 0.0}, base_color=base, roughness=0.62, normal=n.bump(n.noise(500), 0.00008))
    corners = np.array([(-wide / 2, -high / 2), (wide / 2, -high / 2), (wide / 2, high / 2), (-wide / 2, high / 2)])
    top = np.c_[corners, np.full(4, thick)]
    sheet = mesh("card", top, [(0, 1, 2, 3)], mat)
    held = sheet.data.uv_layers.new(name="UVMap")
    for loop, uv in zip(held.data, [(0, 0), (1, 0), (1, 1), (0, 1)], strict=True):
        loop.uv = uv
    edge_mat, e = material("card edge", tally)
    e.finish({"part": 0.0}, base_color=(0.42, 0.36, 0.27), roughness=0.8)
    low = np.r_[top, np.c_[corners, np.zeros(4)]]
    edge = mesh("card edge", low, [(4 + i, 4 + (i + 1) % 4, (i + 1) % 4, i) for i in range(4)], edge_mat, 10)
    for each in (sheet, edge):
        move(each, (at[0], at[1], 0.05), (0, 0, yaw))
    frame = Matrix.Translation(Vector((at[0], at[1], 0.05)) * MM) @ Matrix.Rotation(math.radians(yaw), 4, "Z")
    square = ((0, 0), (marker, 0), (marker, marker), (0, marker))
    return [
        [frame @ (Vector((x + u - wide / 2, high / 2 - y - v, thick)) * MM) for u, v in square]
        for x, y in card_origins(size)
    ]


def area_light(at, toward, size, power, colour):
    lamp = bpy.data.lights.new("lamp", "AREA")
    lamp.shape, lamp.size, lamp.size_y = "RECTANGLE", *size
    lamp.energy, lamp.color = power, colour
    made = link(lamp, "lamp")
    made.location = at
    made.rotation_euler = (Vector(toward) - Vector(at)).to_track_quat("-Z", "Y").to_euler()
    return made


def window(azimuth, elevation, power, distance=1.3, size=(0.9, 1.1), colour=(0.86, 0.93, 1.0)):
    """Four panes with glazing bars between, facing the bench."""
    a, e = math.radians(azimuth), math.radians(elevation)
    middle = Vector((math.cos(a) * math.cos(e), math.sin(a) * math.cos(e), math.sin(e))) * distance
    turn = (-middle).to_track_quat("-Z", "Y").to_matrix()
    for sx in (-1, 1):
        for sy in (-1, 1):
            at = middle + turn @ Vector((sx * size[0] * 0.26, sy * size[1] * 0.26, 0))
            pane = area_light(at, (0, 0, 0), (size[0] * 0.47, size[1] * 0.47), power / 4, colour)
            pane.rotation_euler = turn.to_euler()


def shed(strength, yaw=0.0):
    """The workshop round about, as far as metal reflects it."""
    world = bpy.data.worlds.new("shed")
    bpy.context.scene.world = world
    world.use_nodes = True
    n = Nodes(world.node_tree)
    turned = n.node("Mapping")
    n.put(turned.inputs["Vector"], n.coords("Generated"))
    turned.inputs["Rotation"].default_value = (0, 0, math.radians(yaw))
    sky = n.node("TexEnvironment")
    sky.image = bpy.data.images.load(baked("shed"), check_existing=True)
    n.put(sky.inputs[0], turned.outputs[0])
    glow = n.node("Background")
    n.put(glow.inputs[0], sky.outputs[0])
    glow.inputs[1].default_value = strength
    out = n.node("OutputWorld")
    n.tree.links.new(glow.outputs[0], out.inputs[0])


def camera(look, distance, azimuth, elevation, focus=None, stop=6.0, roll=0.0, exposure=0.8, focal=26.0):
    """The phone: 26 mm-equivalent, held at a distance (mm) from what it looks at (mm in the scene)."""
    a, e = math.radians(azimuth), math.radians(elevation)
    aim = Vector(look) * MM
    eye = aim + Vector((math.cos(a) * math.cos(e), math.sin(a) * math.cos(e), math.sin(e))) * distance * MM
    data = bpy.data.cameras.new("phone")
    made = link(data, "phone")
    tilt = (aim - eye).to_track_quat("-Z", "Y").to_matrix() @ Matrix.Rotation(math.radians(roll), 3, "Z")
    made.location, made.rotation_euler = eye, tilt.to_euler()
    data.lens, data.sensor_width, data.clip_start = focal, 34.6, 0.01
    data.dof.use_dof, data.dof.aperture_fstop = True, stop
    data.dof.focus_distance = ((Vector(focus) if focus is not None else aim) - eye).dot((aim - eye).normalized())
    scene = bpy.context.scene
    scene.camera = made
    scene.view_settings.view_transform = "AgX"
    scene.view_settings.look = "AgX - Medium High Contrast"
    scene.view_settings.exposure = exposure
    bpy.context.view_layer.update()
    return made


def seen(point, size):
    """Where a point in metres falls in a picture of this size: pixels from the upper left, or None behind the eye."""
    q = world_to_camera_view(bpy.context.scene, bpy.context.scene.camera, Vector(point))
    return (q.x * size[0], (1 - q.y) * size[1]) if q.z > 0 else None


def in_sight(point, size, slack_mm=2.5):
    """Whether a point lies within the picture with nothing in front of it; castings shrink a little when fused."""
    found = seen(point, size)
    if not found or not (0 <= found[0] < size[0] and 0 <= found[1] < size[1]):
        return False
    scene = bpy.context.scene
    eye, aim = scene.camera.location, Vector(point)
    graph = bpy.context.evaluated_depsgraph_get()
    hit, spot, *_ = scene.ray_cast(graph, eye, (aim - eye).normalized())
    return not hit or (spot - eye).length > (aim - eye).length - slack_mm * MM


def grid_surface(height, wide, deep, n, mat, name="ground"):
    """A surface of n x n points from height(x, y) in mm."""
    x, y = np.meshgrid(np.linspace(-wide / 2, wide / 2, n), np.linspace(-deep / 2, deep / 2, n), indexing="ij")
    return mesh(name, np.stack([x, y, height(x, y)], -1).reshape(-1, 3), quads(n, n), mat, 180)
