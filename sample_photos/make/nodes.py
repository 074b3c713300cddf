"""A short hand for Blender shader nodes: values in, sockets out."""

from __future__ import annotations

import bpy
from textures import baked


class Nodes:
    """One material's node tree; every method returns the output socket of what it made."""

    def __init__(self, tree, shift=(0.0, 0.0, 0.0)):
        self.tree, self.shift, self.count = tree, shift, 0
        tree.nodes.clear()
        self._coords = None

    def node(self, kind, **settings):
        """A node of Blender's type name without its Shader prefix, e.g. Math."""
        made = self.tree.nodes.new(f"ShaderNode{kind}")
        for key, value in settings.items():
            setattr(made, key, value)
        return made

    def put(self, socket, value):
        """Link a socket or set a number or colour."""
        if value is None:
            return
        if isinstance(value, bpy.types.NodeSocket):
            self.tree.links.new(value, socket)
        elif isinstance(value, (tuple, list)):
            size = len(socket.default_value)
            socket.default_value = (*tuple(value), 1.0)[:size]
        else:
            socket.default_value = value

    def math(self, operation, a, b=None, clamp=False):
        made = self.node("Math", operation=operation, use_clamp=clamp)
        self.put(made.inputs[0], a)
        self.put(made.inputs[1], b)
        return made.outputs[0]

    def add(self, a, b):
        return self.math("ADD", a, b)

    def mul(self, a, b):
        return self.math("MULTIPLY", a, b)

    def sub(self, a, b):
        return self.math("SUBTRACT", a, b)

    def inv(self, a):
        return self.math("SUBTRACT", 1.0, a)

    def peak(self, a, b):
        return self.math("MAXIMUM", a, b)

    def step(self, value, low, high):
        """Smooth 0 to 1 between low and high."""
        made = self.node("MapRange", interpolation_type="SMOOTHSTEP")
        for socket, item in zip(made.inputs, (value, low, high), strict=False):
            self.put(socket, item)
        return made.outputs[0]

    def vec(self, operation, a, b):
        made = self.node("VectorMath", operation=operation)
        self.put(made.inputs[0], a)
        self.put(made.inputs[1], b)
        return made.outputs[0]

    def coords(self, kind="Object"):
        if self._coords is None:
            self._coords = self.node("TexCoord")
        return self._coords.outputs[kind]

    def where(self):
        """Object position in metres, moved by the material's own seed."""
        return self.vec("ADD", self.coords(), self.shift)

    def axes(self, vector):
        made = self.node("SeparateXYZ")
        self.put(made.inputs[0], vector)
        return made.outputs

    def noise(self, scale, at=None):
        """Baked cloud noise, box-projected: about ten times cheaper than a computed one. Scale is per metre."""
        k, self.count = self.count, self.count + 1
        made = self.node("TexImage", projection="BOX", projection_blend=0.3)
        made.image = bpy.data.images.load(baked("noise"), check_existing=True)
        made.image.colorspace_settings.name = "Non-Color"
        made.image.alpha_mode = "CHANNEL_PACKED"
        place = self.vec("MULTIPLY", at if at is not None else self.where(), (scale / 6,) * 3)
        self.put(made.inputs[0], self.vec("ADD", place, (0.37 * k, 0.61 * k, 0.23 * k)))
        if k % 4 == 3:
            return made.outputs["Alpha"]
        return self.channels(made.outputs[0])[k % 4]

    def channels(self, colour):
        made = self.node("SeparateColor")
        self.put(made.inputs[0], colour)
        return made.outputs

    def wear(self, scale, at=None):
        """Flecks, blots and scratches, box-projected; scale is tiles per metre."""
        made = self.node("TexImage", projection="BOX", projection_blend=0.1)
        made.image = bpy.data.images.load(baked("wear"), check_existing=True)
        made.image.colorspace_settings.name = "Non-Color"
        self.put(made.inputs[0], self.vec("MULTIPLY", at if at is not None else self.where(), (scale,) * 3))
        return self.channels(made.outputs[0])

    def picture(self, name, at, extension="REPEAT", data=True):
        made = self.node("TexImage", extension=extension)
        made.image = bpy.data.images.load(baked(name), check_existing=True)
        made.image.colorspace_settings.name = "Non-Color" if data else "sRGB"
        self.put(made.inputs[0], at)
        return made.outputs[0]

    def cells(self, scale, feature="F1", at=None):
        made = self.node("TexVoronoi", feature=feature)
        self.put(made.inputs["Vector"], at if at is not None else self.where())
        made.inputs["Scale"].default_value = scale
        return made.outputs[0]

    def ramp(self, value, stops):
        made = self.node("ValToRGB")
        self.put(made.inputs[0], value)
        elements = made.color_ramp.elements
        while len(elements) < len(stops):
            elements.new(0.5)
        for element, (place, colour) in zip(elements, stops, strict=True):
            element.position, element.color = place, (*colour, 1.0)
        return made.outputs[0]

    def mix(self, factor, a, b, blend="MIX"):
        made = self.node("Mix", data_type="RGBA", blend_type=blend)
        for index, item in ((0, factor), (6, a), (7, b)):
            self.put(made.inputs[index], item)
        return made.outputs[2]

    def blend(self, factor, a, b):
        made = self.node("Mix", data_type="FLOAT")
        for index, item in ((0, factor), (2, a), (3, b)):
            self.put(made.inputs[index], item)
        return made.outputs[0]

    def upward(self):
        """0 to 1 by how far a surface faces up: where dust lies."""
        facing = self.axes(self.node("NewGeometry").outputs["Normal"])[2]
        return self.step(facing, 0.25, 1.0)

    def attribute(self, name):
        return self.node("Attribute", attribute_name=name).outputs["Fac"]

    def bump(self, height, distance, strength=1.0):
        """Height 0 to 1 stands for distance, in metres."""
        made = self.node("Bump")
        made.inputs["Strength"].default_value = strength
        made.inputs["Distance"].default_value = distance
        self.put(made.inputs["Height"], height)
        return made.outputs[0]

    def finish(self, labels, **surface):
        """Principled surface to the output; labels (rust, part, mark) are kept for the truth pass."""
        body = self.node("BsdfPrincipled")
        for key, value in surface.items():
            self.put(body.inputs[key.replace("_", " ").title() if key != "ior" else "IOR"], value)
        out = self.node("OutputMaterial")
        self.tree.links.new(body.outputs[0], out.inputs[0])
        for key, value in labels.items():
            label = self.node("OutputAOV")
            label.aov_name = key
            self.put(label.inputs["Value"], value)


def material(name, seed=0):
    """A new material and its nodes; the seed moves its textures."""
    made = bpy.data.materials.new(name)
    made.use_nodes = True
    return made, Nodes(made.node_tree, (seed * 1.37, seed * 0.61, seed * 2.11))
