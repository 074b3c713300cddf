"""From a row of the plan to a picture and its truth."""

from __future__ import annotations

import math
import os
from pathlib import Path

os.environ.setdefault("OPENCV_IO_ENABLE_OPENEXR", "1")

import bpy
import cv2
import numpy as np
import stage
from benches import BENCHES
from clutter import scatter
from mathutils import Vector
from parts import PARTS
from solids import MM


def build(row):
    """Put the whole scene of one photo together; returns its subjects and the card's corners (or None)."""
    stage.clear()
    BENCHES[row["bench"]](row.get("bench_seed", 1))
    subjects = []
    for item in row["subjects"]:
        subject = PARTS[item["part"]](**item.get("with", {}))
        stage.place(
            subject,
            item.get("at", (0, 0)),
            item.get("turn", (0, 0, 0)),
            item.get("settle", True),
            item.get("lift", 0.0),
        )
        subjects.append(subject)
    corners = None
    if "card" in row:
        laid = row["card"]
        corners = stage.card(laid["size"], laid["tally"], laid["at"], laid["yaw"])
    scatter(row.get("clutter", []), row.get("clutter_seed", 1))
    _lights(row["light"])
    _camera(row["camera"], subjects)
    return subjects, corners


def _lights(light):
    if light.get("window", 0):
        stage.window(light.get("azimuth", 150), light.get("elevation", 42), light["window"], light.get("distance", 1.3))
    if light.get("bulb", 0):
        at = [c * MM for c in light.get("bulb_at", (500, -700, 1500))]
        stage.area_light(
            at,
            (0, 0, 0),
            light.get("bulb_size", (0.12, 0.9)),
            light["bulb"],
            light.get("bulb_colour", (1.0, 0.78, 0.52)),
        )
    stage.shed(light.get("shed", 0.8), light.get("turn", 0))


def _camera(cam, subjects):
    focus = None
    if "focus" in cam:
        subject = subjects[cam.get("focus_on", 0)]
        focus = subject.world(subject.points[cam["focus"]])
    look = cam["look"]
    if isinstance(look, str):
        look = [c / MM for c in subjects[0].world(subjects[0].points[look])]
    stage.camera(
        look,
        cam["distance"],
        cam["azimuth"],
        cam["elevation"],
        focus,
        cam.get("stop", 6.0),
        cam.get("roll", 0.0),
        cam.get("exposure", 0.62),
    )


def picture(row, size, samples, out):
    """Render to a PNG of this size."""
    scene = bpy.context.scene
    scene.render.engine = "CYCLES"
    cycles = scene.cycles
    cycles.device, cycles.samples, cycles.seed = "CPU", samples, 5
    cycles.use_adaptive_sampling = False
    cycles.use_denoising, cycles.denoiser, cycles.denoising_prefilter = True, "OPENIMAGEDENOISE", "FAST"
    cycles.max_bounces, cycles.diffuse_bounces, cycles.glossy_bounces = 4, 1, 2
    cycles.caustics_reflective = cycles.caustics_refractive = False
    cycles.sample_clamp_indirect = 4
    scene.render.threads_mode, scene.render.threads = "FIXED", 2
    scene.render.resolution_x, scene.render.resolution_y = size
    scene.render.resolution_percentage = 100
    held = scene.render.image_settings
    held.file_format, held.color_mode, held.color_depth = "PNG", "RGB", "8"
    scene.render.filepath = str(out)
    bpy.ops.render.render(write_still=True)


def labels(size, folder):
    """Rust, part and mark masks (bool) and each pixel's position in mm, by rendering the scene as bare labels."""
    scene = bpy.context.scene
    for lamp in [o for o in scene.objects if o.type == "LIGHT"]:
        bpy.data.objects.remove(lamp)
    scene.world = bpy.data.worlds.new("black")
    scene.camera.data.dof.use_dof = False
    cycles = scene.cycles
    cycles.samples, cycles.use_denoising, cycles.max_bounces = 1, False, 0
    cycles.pixel_filter_type, cycles.filter_width = "BOX", 0.01
    scene.render.resolution_x, scene.render.resolution_y = size
    held = scene.render.image_settings
    held.file_format, held.color_depth = "OPEN_EXR", "32"
    read = {}
    for name in ("labels", "places"):
        for mat in bpy.data.materials:
            if mat.node_tree:
                _emit(mat.node_tree, name)
        path = Path(folder) / f"{name}-{os.getpid()}.exr"
        scene.render.filepath = str(path)
        bpy.ops.render.render(write_still=True)
        read[name] = cv2.imread(str(path), cv2.IMREAD_UNCHANGED)[..., 2::-1]
        path.unlink()
    masks = read["labels"] > 0.5
    return {
        "rust": masks[..., 0] & masks[..., 1],
        "part": masks[..., 1],
        "mark": masks[..., 2],
        "places": (read["places"] - 5.0) / MM,
    }


def _emit(tree, what):
    sources = {}
    for node in tree.nodes:
        if node.bl_idname == "ShaderNodeOutputAOV":
            held = node.inputs["Value"]
            sources[node.aov_name] = held.links[0].from_socket if held.is_linked else held.default_value
    out = next((x for x in tree.nodes if x.bl_idname == "ShaderNodeOutputMaterial"), None)
    if out is None:
        return
    glow = tree.nodes.new("ShaderNodeEmission")
    tree.links.new(glow.outputs[0], out.inputs[0])
    if what == "places":
        shift = tree.nodes.new("ShaderNodeVectorMath")
        shift.inputs[1].default_value = (5, 5, 5)
        tree.links.new(tree.nodes.new("ShaderNodeNewGeometry").outputs["Position"], shift.inputs[0])
        tree.links.new(shift.outputs[0], glow.inputs[0])
        return
    joined = tree.nodes.new("ShaderNodeCombineXYZ")
    for index, key in enumerate(("rust", "part", "mark")):
        value = sources.get(key, 0.0)
        if isinstance(value, bpy.types.NodeSocket):
            tree.links.new(value, joined.inputs[index])
        else:
            joined.inputs[index].default_value = value
    tree.links.new(joined.outputs[0], glow.inputs[0])


def visible_mm2(mask, places):
    """Area in mm2 of the surface seen under a mask, from each pixel's position."""
    across, down = np.gradient(places, axis=1), np.gradient(places, axis=0)
    area = np.linalg.norm(np.cross(across, down), axis=-1)
    area[area > 25] = 0
    return float(area[mask].sum())


def middle_px(mask, size):
    """The pixel of a picture of `size` that lies deepest within a mask, or None when the mask is empty."""
    if not mask.any():
        return None
    deep = cv2.distanceTransform(np.pad(mask, 1).astype(np.uint8), cv2.DIST_L2, 5)[1:-1, 1:-1]
    down, across = np.unravel_index(int(deep.argmax()), deep.shape)
    scale = size[0] / mask.shape[1]
    return [round((across + 0.5) * scale, 1), round((down + 0.5) * scale, 1)]


def geometry(row, subjects, corners, size):
    """What is known of the picture: card corners, points, holes and lengths in mm and in pixels of `size`."""
    told = {"size_px": list(size), "focal_px": round(26.0 / 34.6 * max(size), 2), "subjects": []}
    bpy.context.scene.render.resolution_x, bpy.context.scene.render.resolution_y = size
    if corners:
        laid = row["card"]
        told["card"] = {
            "size": laid["size"],
            "tally": laid["tally"],
            "markers": {str(4 * laid["tally"] + k): [_px(p, size) for p in square] for k, square in enumerate(corners)},
        }
        told["card"]["markers_mm"] = {
            key: [[round(c / MM, 3) for c in p] for p in square]
            for key, square in zip(told["card"]["markers"], corners, strict=True)
        }
    for item, subject in zip(row["subjects"], subjects, strict=True):
        told["subjects"].append(_subject(item, subject, size))
    return told


def _subject(item, subject, size):
    points = {
        name: {
            "mm": [round(c / MM, 3) for c in subject.world(p)],
            "px": _px(subject.world(p), size),
            "seen": stage.in_sight(subject.world(p), size),
        }
        for name, p in subject.points.items()
    }
    holes = [
        {
            "name": name,
            "diameter_mm": d,
            "centre_mm": [round(c / MM, 3) for c in subject.world(p)],
            "centre_px": _px(subject.world(p), size),
        }
        for name, (p, d) in subject.holes.items()
    ]
    lengths = []
    for name, a, b in subject.lengths:
        pa, pb = Vector(points[a]["mm"]), Vector(points[b]["mm"])
        between = math.dist(points[a]["px"], points[b]["px"]) if points[a]["px"] and points[b]["px"] else None
        lengths.append(
            {"name": name, "from": a, "to": b, "mm": round((pa - pb).length, 3), "px": between and round(between, 2)}
        )
    return {"part": item["part"], "points": points, "holes": holes, "lengths": lengths, "facts": subject.facts}


def _px(point, size):
    found = stage.seen(point, size)
    return [round(c, 2) for c in found] if found else None
