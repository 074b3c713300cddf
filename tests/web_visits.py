"""Every address of the browser door with examples of it, and every form with what it sends."""

from __future__ import annotations

from survey import bench

# Every address that answers GET, with an example of it.
VISITS = {
    "/": ("/",),
    "/static/<path:filename>": ("/static/teachest.css", "/static/icon.svg"),
    "/photos/": ("/photos/", "/photos/?show=waiting", "/photos/?show=placed", "/photos/?show=aside&page=7",
        "/photos/?q=lever&since=2026-01-01&until=2026-12-31", "/photos/?component=B052&finding=crack&box=box+9&run=1"),
    "/photos/<int:photo_id>": ("/photos/1", "/photos/2", "/photos/3", "/photos/3?what=lever", "/photos/3?what=no+such"),
    "/photos/<int:photo_id>/mark": (
        "/photos/1/mark?part=1", "/photos/2/mark?part=2&shape=box", "/photos/2/mark?part=2&shape=box&at=0.1,0.2",
        "/photos/2/mark?part=2&shape=box&at=0.1,0.2;0.4,0.5",
    ),
    "/photos/add": ("/photos/add",),
    "/pictures/<int:photo_id>/<any(thumb, view):size>": ("/pictures/1/thumb", "/pictures/2/view"),
    "/pictures/<int:photo_id>/original": ("/pictures/1/original",),
    "/pictures/<int:photo_id>/crop": ("/pictures/1/crop?box=0.1,0.1,0.6,0.5&wide=300",),
    "/parts/": ("/parts/", "/parts/?grade=replace", "/parts/?q=handlebar", "/parts/?by=grade", "/parts/?by=box",
        "/parts/?grade=reuse&q=nothing+like+it"),
    "/parts/new": ("/parts/new", "/parts/new?photo=3", "/parts/new?photo=3&what=gas+tank"),
    "/parts/<int:part_id>": ("/parts/1", "/parts/2", "/parts/3", "/parts/4"),
    "/parts/<int:part_id>/find": (
        "/parts/1/find", "/parts/1/find?photo=1", "/parts/4/find", "/parts/1/find?kind=bent",
        "/parts/1/find?photo=1&kind=crack&shape=box&at=0.1,0.2;0.4,0.5",
    ),
    "/parts/<int:part_id>/look": ("/parts/1/look", "/parts/1/look?photo=1"),
    "/gaps/": ("/gaps/", "/gaps/?show=all"),
    "/plan/": ("/plan/",),
    "/plan/order": ("/plan/order",),
    "/plan/order/drawn": ("/plan/order/drawn",),
    "/report/": ("/report/",),
    "/report/page": ("/report/page",),
    "/report/style.css": ("/report/style.css",),
    "/report/take/<any(pdf, html, csv, json):kind>": (
        "/report/take/pdf?paper=letter", "/report/take/html", "/report/take/csv", "/report/take/json",
    ),
    "/rules/": ("/rules/",),
    "/rules/tables/<name>": tuple(f"/rules/tables/{table.name}" for table in bench.rulebook().tables),
    "/rules/readings": ("/rules/readings",),
    "/rules/findings": ("/rules/findings",),
    "/machine": ("/machine",),
    "/history": ("/history", "/history?part=1"),
    "/boxes/": ("/boxes/",),
    "/plan/wants/": ("/plan/wants/", "/plan/wants/?by=assembly"),
    "/plan/wants/take/<any(pocket, friend, table):sheet>": (
        "/plan/wants/take/pocket?paper=letter", "/plan/wants/take/friend", "/plan/wants/take/table",
    ),
}  # fmt: skip
LEADS_ON = {"/rules/row/<rule>"}

# Every address that answers POST, and the fields of its form.
SENDS = {
    "/photos/add": ("photos",),
    "/photos/several/place": ("photo", "part"),
    "/photos/several/new-part": ("photo", "component"),
    "/photos/several/aside": ("photo",),
    "/photos/several/box": ("photo", "box"),
    "/boxes/put": ("part", "box"),
    "/photos/<int:photo_id>/place": ("part",),
    "/photos/<int:photo_id>/new-part": ("component", "label", "quantity"),
    "/photos/<int:photo_id>/unplace": ("part",),
    "/photos/<int:photo_id>/note": ("note", "box"),
    "/photos/<int:photo_id>/aside": ("aside",),
    "/photos/<int:photo_id>/marks": ("part", "shape", "at"),
    "/marks/<int:mark_id>/remove": ("photo",),
    "/marks/<int:mark_id>/move": ("at",),
    "/undo": ("batch",),
    "/redo": ("batch",),
    "/parts/new": ("component", "label", "quantity", "box", "note", "photo"),
    "/parts/<int:part_id>/change": ("component", "label", "quantity", "box", "note", "material", "inside"),
    "/parts/<int:part_id>/grade": ("grade", "reason"),
    "/parts/<int:part_id>/readings": ("name", "written", "tool"),
    "/parts/<int:part_id>/readings/<int:reading_id>/remove": (),
    "/parts/<int:part_id>/remove": (),
    "/parts/<int:part_id>/findings": ("kind", "step", "seen", "note", "photo", "shape", "at"),
    "/parts/<int:part_id>/findings/<int:finding_id>/remove": (),
    "/parts/<int:part_id>/looks": ("seen", "note", "photo"),
    "/parts/<int:part_id>/looks/<int:look_id>/remove": (),
    "/gaps/answer": ("component", "state", "note", "show"),
    "/gaps/here": ("component", "quantity"),
    "/gaps/quantity": ("component", "quantity", "show"),
    "/plan/order/step": ("build_step", "how"),
    "/plan/order/pairs": ("first", "then", "because", "hard"),
    "/plan/order/pairs/<int:pair>/remove": (),
    "/plan/order/pairs/off": ("pair", "because"),
    "/plan/order/pairs/on": ("pair",),
    "/plan/wants/state": ("component", "label", "state", "by"),
    "/plan/wants/say": ("component", "label", "who", "size_name", "size", "also", "low", "likely", "high", "quantity",
        "note", "by"),
    "/plan/wants/drop": ("component", "label", "by"),
    "/plan/wants/currency": ("currency",),
    "/parts/<int:part_id>/stuck": ("what", "thing", "metals", "hole", "end", "flag", "tried", "holds", "note"),
    "/parts/<int:part_id>/stuck/<int:stuck_id>": ("what", "thing", "metals", "hole", "end", "flag", "tried", "holds",
        "note"),
    "/parts/<int:part_id>/stuck/<int:stuck_id>/out": ("out",),
    "/parts/<int:part_id>/stuck/<int:stuck_id>/remove": (),
    "/machine": ("name", "maker", "model", "year", "engine", "bought", "surveyor", "note"),
    "/machine/numbers": ("place", "text", "note"),
    "/machine/numbers/<int:number_id>/remove": (),
}

# What each address reads besides its path.
ASKS = {
    "/photos/": ("show", "page", "q", "component", "finding", "box", "since", "until", "run"),
    "/photos/<int:photo_id>": ("what", "part"),
    "/photos/<int:photo_id>/mark": ("part", "shape", "at", "w", "pick.x", "pick.y", "across", "down"),
    "/pictures/<int:photo_id>/<any(thumb, view):size>": ("v",),
    "/pictures/<int:photo_id>/crop": ("box", "wide", "v"),
    "/parts/": ("grade", "q", "by"),
    "/parts/new": ("photo", "what"),
    "/parts/<int:part_id>/find": ("photo", "kind", "shape", "at", "w", "pick.x", "pick.y", "across", "down"),
    "/parts/<int:part_id>/look": ("photo",),
    "/gaps/": ("show",),
    "/history": ("part",),
    "/plan/wants/": ("by",),
    "/plan/wants/take/<any(pocket, friend, table):sheet>": ("paper",),
}

# A form that each field's rules accept, for sending all but one of its fields as they should be.
SOUND = {
    "part": "1", "component": "B110", "label": "x", "quantity": "1", "note": "x", "box": "x", "aside": "no",
    "shape": "pin", "at": "0.5,0.5", "photo": "1", "material": "steel", "inside": "2", "grade": "repair",
    "reason": "x", "name": "rim-lateral", "written": "1 mm", "tool": "rule", "kind": "bent", "step": "1",
    "seen": "bare", "state": "missing", "show": "all", "w": "352", "pick.x": "9", "pick.y": "9", "wide": "300",
    "build_step": "head-cups-in", "how": "done", "first": "B160", "then": "front-guard-set", "because": "x",
    "hard": "soft", "pair": "cups-before-fork",
    "place": "frame", "text": "HP 1", "currency": "EUR", "what": "stud", "thing": "fastener", "metals": "brass",
    "hole": "blind", "end": "flush", "flag": "scarce", "tried": "oil", "holds": "x", "out": "yes", "low": "1", "likely": "2.50", "high": "30", "by": "assembly",
    "size": "1/4 in", "paper": "a4",
}  # fmt: skip
