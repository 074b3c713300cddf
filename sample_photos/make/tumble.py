"""Let parts fall into a box and come to rest on one another."""

from __future__ import annotations

import bpy
import numpy as np
from mathutils import Matrix, Vector
from scipy.spatial import ConvexHull
from solids import MM, mesh, vertices

BLOCK_FACES = [(3, 2, 1, 0), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)]


def settle_in(groups, walls, drops, frames=130):
    """Drop each group of objects, as its hull, from drops [(x, y, z mm, turn radians)] between fixed walls."""
    bpy.ops.rigidbody.world_add()
    world = bpy.context.scene.rigidbody_world
    world.substeps_per_frame, world.solver_iterations = 20, 20
    world.point_cache.frame_end = frames
    for wall in walls:
        _body(wall, "PASSIVE", "MESH")
    ground = mesh("ground", _block(1200, 80), BLOCK_FACES)  # sheet thin floors let fast things through
    _body(ground, "PASSIVE", "CONVEX_HULL")
    stand_ins = [_hull(group, drop) for group, drop in zip(groups, drops, strict=True)]
    for frame in range(1, frames + 1):
        bpy.context.scene.frame_set(frame)
    resting = [made.matrix_world.copy() for made, _ in stand_ins]
    bpy.ops.rigidbody.world_remove()
    bpy.data.objects.remove(ground)
    for group, (made, middle), matrix in zip(groups, stand_ins, resting, strict=True):
        for each in group:
            each.data.transform(matrix @ Matrix.Translation(-Vector(middle) * MM))
        bpy.data.objects.remove(made)
    return [each for group in groups for each in group]


def _block(wide, deep):
    """Corners of a slab whose top is the floor."""
    return [(x * wide, y * wide, z) for z in (-deep, 0) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))]


def _hull(group, drop):
    """A light convex stand-in about its own middle, set where it is dropped from."""
    cloud = np.concatenate([vertices(each) for each in group])
    cloud = np.unique(np.round(cloud[:: max(1, len(cloud) // 20000)] / 0.8), axis=0) * 0.8
    hull = ConvexHull(cloud)
    used, faces = np.unique(hull.simplices, return_inverse=True)
    middle = (cloud[used].min(axis=0) + cloud[used].max(axis=0)) / 2
    made = mesh("stand-in", cloud[used] - middle, faces.reshape(-1, 3))
    made.location, made.rotation_euler = Vector(drop[:3]) * MM, drop[3]
    _body(made, "ACTIVE", "CONVEX_HULL")
    return made, middle


def _body(made, kind, shape):
    bpy.ops.object.select_all(action="DESELECT")
    bpy.context.view_layer.objects.active = made
    made.select_set(True)
    bpy.ops.rigidbody.object_add(type=kind)
    held = made.rigid_body
    held.collision_shape, held.use_margin, held.collision_margin = shape, True, 0.0005
    held.friction, held.restitution, held.linear_damping, held.angular_damping = 0.8, 0.05, 0.15, 0.3
    made.select_set(False)
