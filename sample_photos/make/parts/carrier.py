"""The parcel carrier's bracket and the lug it should bolt to."""

from __future__ import annotations

import numpy as np
from materials import painted
from solids import cut, dense, fuse, mesh, move, plate, quads, rod, thicken
from stage import Subject

from parts.frame import BLACK


def carrier_bracket():
    """A cranked strap, 32 x 4 mm, with two holes 76 mm apart and one up the leg."""
    spine = dense([(-56, 0), (50, 0), (58, 3), (63, 10), (74, 40), (77, 58)], 1.0)
    across = np.linspace(-16, 16, 41)
    round_ = np.clip(1 - ((np.abs(across) - 10) / 6).clip(0) ** 2, 0, 1) ** 0.5
    grid = np.array(
        [
            [(x + (6 * (1 - k) if i == 0 else 0), y, z) for y, k in zip(across, round_, strict=True)]
            for i, (x, z) in enumerate(spine)
        ]
    )
    strap = mesh(
        "strap",
        grid.reshape(-1, 3),
        quads(len(spine), 41),
        painted(81, BLACK, 0.44, 24, 0.22, 0.3, 0.2, weighted=False),
        40,
    )
    thicken(strap, 4.0, 1.0)
    cut(
        strap,
        [
            rod(4.25, 30, (-38, 0, -10), bevel=0),
            rod(4.25, 30, (38, 0, -10), bevel=0),
            rod(4.25, 60, (50, 0, 34), (0, 70, 0), bevel=0),
        ],
    )
    points = {"hole a": (-38, 0, 4), "hole b": (38, 0, 4)}
    holes = {name: (p, 8.5) for name, p in points.items()}
    return Subject([strap], points, holes, [("hole centres", "hole a", "hole b")], {"strap_mm": [32, 4]})


def carrier_lug():
    """A piece of frame tube with the plate the bracket should bolt to: its holes are 71.5 mm apart and 8.2 mm."""
    tubing = move(rod(12.7, 168, (0, 0, -84)), (0, 0, 0), (0, 90, 0))
    base = plate([(-52, -24), (52, -24), (46, 20), (-46, 20)], [], 6, 0.8, at=(0, 0, 9.5))
    bead = [move(rod(3.2, 96, (0, y, -48), bevel=1), (0, 0, 9), (0, 90, 0)) for y in (-9, 9)]
    ends = [move(rod(11.0, 40, bevel=0), (x, 0, 0), (0, 90, 0)) for x in (-100, 60)]
    body = fuse([tubing, base, *bead], 0.7, 4)
    cut(body, [*ends, rod(4.1, 40, (-35.75, -13.6, 0), bevel=0), rod(4.1, 40, (35.75, -13.6, 0), bevel=0)])
    body.data.materials.append(painted(83, BLACK, 0.40, 22, 0.2, 0.3, 0.25, weighted=False))
    points = {"hole a": (-35.75, -13.6, 15.5), "hole b": (35.75, -13.6, 15.5)}
    holes = {name: (p, 8.2) for name, p in points.items()}
    return Subject([body], points, holes, [("hole centres", "hole a", "hole b")], {"plate_mm": 6})
