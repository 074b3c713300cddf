"""An invented survey for the report's tests: a 1957 Haldane-Pike Ferryman 147 cc in seven boxes."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

from survey.document.picture import CropRequest, Picture
from survey.document.sheet import Blanks, Drawing, Entry, Facts, Line, Section, Table
from survey.model.grading import Ruling, Verdict
from survey.model.machine import Machine, Number
from survey.model.parts import Finding, FindingKind, FindingStep, GradedPart, Look, OwnGrade, Part, Reading
from survey.model.photos import Mark, Photo
from survey.model.schedule import Component, Gap
from survey.report.gather_printed import ReportSource
from survey.today.next_things import NextThing

HOSTILE = (
    '= Head #panic("x") *bold* $x^2$ @ref <b>bold</b> <script>alert(1)</script> {{ 7*7 }} {% raw %} \\ // /* `raw`'
)
"""Text that is markup to one writer or another."""

LETTERS = "Ł Ж Ω ש ع ½ Ø 中 \U0001f600 \x07 \u202e tab\there"
"""Letters most fonts have, some that ours have not, and some that are no letters."""


def component(id: str, label: str, assembly: str, duty: Any, part_class: str, **more: Any) -> Component:
    defaults: dict[str, Any] = {"inside": None, "quantity": 1, "material": "steel"}
    return Component(id, label, assembly, duty=duty, part_class=part_class, **{**defaults, **more})


FRAME = component("B001", "Frame", "Frame", "safety", "frame", finish="black enamel")
STAND = component("B004", "Centre stand", "Frame", "safety", "stand")
STAND_SPRING = component(
    "B005", "Centre stand spring", "Frame", "safety", "spring", material="spring-steel", inside="B004"
)
BAR = component("B030", "Handlebar", "Steering", "safety", "handlebar", finish="chrome")
BRAKE_PLATE = component("B061", "Brake plate, rear", "Rear wheel", "safety", "brake-plate", material="aluminium")
SHOES = component(
    "B062", "Brake shoes, rear", "Rear wheel", "safety", "brake-shoe", quantity=2, inside="B061", material="lining"
)
SPOKES = component("B070", "Spokes, rear", "Rear wheel", "safety", "spokes", quantity=36)
CARB = component("B120", "Carburettor", "Fuel", "running", "carburettor", material="zinc")
FLOAT = component("B121", "Float", "Fuel", "running", "float", inside="B120", material="copper-alloy")
NEEDLE = component("B122", "Float needle", "Fuel", "running", "float", inside="B120", material="copper-alloy")
TANK = component("B110", "Petrol tank", "Fuel", "safety", "tank", finish="maroon paint, gold lines")
GUARD = component("B140", "Mudguard, front", "Tinware", "safety", "tinware", finish="maroon paint")
CARRIER = component("B145", "Parcel carrier", "Tinware", "running", "tinware")
BADGE = component("B150", "Tank badge, left", "Tinware", "cosmetic", "trim", material="copper-alloy")
CRANK = component("B100", "Crankshaft assembly", "Engine", "running", "crank", material="hard-steel")
HORN = component("B170", "Horn", "Electrical", "running", "switch", material="mixed")
LAMP = component("B171", "Headlamp shell", "Electrical", "running", "lamp")
SIDECAR = component("B190", "Sidecar lug", "Frame", "safety", "lug")

SCHEDULE = (
    FRAME, STAND, STAND_SPRING, SIDECAR, BAR, BRAKE_PLATE, SHOES, SPOKES, TANK, CARB, FLOAT, NEEDLE, CRANK, GUARD,
    CARRIER, BADGE, HORN, LAMP,
)  # fmt: skip

ABSENT = (
    Gap(STAND_SPRING, "missing", 0, inside_present=True),
    Gap(SPOKES, "short", 33, "three snapped off in the hub"),
    Gap(SHOES, "unseen", 0, inside_present=True),
    Gap(FLOAT, "missing", 0, inside_present=True),
    Gap(NEEDLE, "missing", 0, "seat is worn too", inside_present=True),
    Gap(HORN, "wrong", 0, "six volt horn of a later machine"),
    Gap(BADGE, "not-looked", 0),
    Gap(LAMP, "not-looked", 0),
)


def _steps(*steps: tuple[str, str]) -> Any:
    return tuple(FindingStep(number, name, looks) for number, (name, looks) in enumerate(steps, 1))


KINDS = {
    kind.id: kind
    for kind in (
        FindingKind("crack", "Crack", "breaks", "substance", _steps(
            ("Suspect line", "a line that may be a scratch"),
            ("Proved, away from load", "dye or a glass shows it, clear of any lug"),
            ("Proved, in a load path", "dye or a glass shows it at a lug, weld or clamp"),
            ("Through", "light or a feeler goes through"),
        )),
        FindingKind("pitting", "Pitting", "corrosion", "substance", _steps(
            ("Pin specks", "dark specks, nothing to feel"),
            ("Nail-catching", "a fingernail catches in them"),
            ("Gaugeable", "deep enough to put a gauge into"),
            ("Joined-up", "pits run into each other"),
        )),
        FindingKind("bend", "Bend", "shape", "substance", _steps(
            ("By eye doubtful", "only a straight edge shows it"),
            ("By eye plain", "out of line when sighted along"),
            ("Kinked", "the wall is folded or flattened"),
            ("Torn", "the wall has opened"),
        )),
        FindingKind("paint_loss", "Paint gone", "finish", "finish", _steps(
            ("Chips", "less than a tenth bare"), ("Patches", "up to half bare"),
            ("Mostly bare", "more than half bare"), ("Bare", "no coat left"),
        )),
    )
}  # fmt: skip

CRACK_RULE = Ruling(
    "crack-load-path-safety", "replace", "A crack where the load runs grows until the part lets go.",
    "Mark it so that nobody fits it by mistake; keep it as a pattern.",
    "Do not weld or braze it to carry on: a handlebar that breaks throws the rider.",
    "DVSA motor-cycle inspection manual", "stated", False, finding=("crack", 3, "bare"),
)  # fmt: skip
PIT_RULE = Ruling(
    "pits-tube-measure", "examine-first", "Pits on tube are notches, and hide how much wall is left.",
    "Strip, measure the wall, have it looked at by somebody used to frames.",
    "Paint and powder hide cracks and thin metal.", "common practice, no source", "common practice", False,
    trade="frame repairer", finding=("pitting", 3, "paint"),
)  # fmt: skip
BEND_RULE = Ruling(
    "bend-tinware", "repair", "Sheet that is out of line can be dressed back.", "Dress it over a dolly, cold.", "",
    "common practice, no source", "common practice", True,
    "one side dresses and fills, the other wants the dents kept as the machine's own history", "panel beater",
    ("bend", 2, "bare"),
)  # fmt: skip
PAINT_RULE = Ruling(
    "finish-never-grades", "reuse", "Gone paint says nothing of the metal under it.", "Keep a piece of the old colour.",
    "Old paint may hold lead: work wet, no dry sanding.", "NSC lead-safe work list", "stated", False,
    finding=("paint_loss", 3, "bare"),
)  # fmt: skip
UNSEEN_RULE = Ruling(
    "nobody-looked-safety", "not-looked-at", "Nobody has looked at a part that can hurt somebody.",
    "Clean it to bare metal and look it over under a raking light.", "Do not ride on it.",
    "judgement", "judgement", False,
)  # fmt: skip
TANK_RULE = Ruling(
    "tank-pinholes", "examine-first", "Pinholes are where thin metal shows first.",
    "Have it made free of vapour and tested.",
    "No flame, no grinding, no solder on a tank that held petrol.", "HSE INDG314", "stated", True,
    "solder and liner both have their camps", "tank repairer", ("pitting", 4, "bare"),
)  # fmt: skip
CRANK_RULE = Ruling(
    "big-end-read", "take-a-reading", "Up-and-down play at the big end is felt, then measured.",
    "Measure side and up-and-down play with a dial gauge.", "", "common practice, no source", "common practice", False,
)  # fmt: skip
SOUND_RULE = Ruling(
    "sound-bare", "reuse", "Looked over on bare metal, nothing wrong seen.", "Oil it and keep it dry.", "",
    "common practice, no source", "common practice", False,
)  # fmt: skip

AT = "2026-03-{:02}T09:30:00Z"


def graded(part: Part, of: Component | None, rulings: tuple[Ruling, ...], **more: Any) -> GradedPart:
    outcome = rulings[0].outcome
    grade = outcome if outcome in ("reuse", "repair", "replace") else None
    verdict = Verdict(grade, None if grade else outcome, rulings)  # type: ignore[arg-type]
    return GradedPart(part, of, verdict, **more)


def finding(
    id: int, part: int, kind: str, step: int, seen: Any = "bare", note: str = "", day: int = 7, photos: Any = ()
) -> Finding:
    return Finding(id, part, kind, step, seen, note, "A. Owner", AT.format(day), photos)


def parts() -> tuple[GradedPart, ...]:
    return (
        graded(
            Part(1, "B001", "", box="box 1", photos=(1, 2, 3)), FRAME, (PIT_RULE, PAINT_RULE),
            findings=(finding(1, 1, "pitting", 3, "paint", "round the battery carrier", photos=(1,)),
                      finding(2, 1, "paint_loss", 3)),
            readings=(Reading(1, 1, "wall_left", 1.4, "mm", "1.4 mm", "caliper", 0.05, "A. Owner", AT.format(8)),),
            marks=(
                Mark(1, 1, 1, 1, "box", ((0.20, 0.30), (0.38, 0.48))),
                Mark(2, 1, 1, 2, "pin", ((0.30, 0.40),)),
                Mark(3, 2, 1, 1, "outline", ((0.6, 0.6), (0.8, 0.58), (0.84, 0.74), (0.7, 0.8))),
            ),
        ),
        graded(Part(2, "B004", "", box="box 1", photos=(4,)), STAND, (UNSEEN_RULE,)),
        graded(
            Part(3, "B030", "", box="box 2", photos=(5,)), BAR, (CRACK_RULE,),
            findings=(finding(3, 3, "crack", 3, note="starts at the clamp", photos=(5,)),),
            marks=(Mark(4, 5, 3, 3, "pin", ((0.97, 0.03),)),),
            own_grade=OwnGrade(3, "repair", "wanted for the wall, not the road", "A. Owner", AT.format(9)),
        ),
        graded(Part(4, "B061", "", box="box 3", photos=(6,)), BRAKE_PLATE, (UNSEEN_RULE,),
               looks=(Look(1, 4, "paint", "greasy", "B. Friend", AT.format(14)),)),
        graded(Part(5, "B070", "", quantity=33, box="box 3"), SPOKES, (UNSEEN_RULE,)),
        graded(
            Part(6, "B110", "", box="box 4", photos=(7,)), TANK, (TANK_RULE,),
            findings=(finding(4, 6, "pitting", 4),), marks=(Mark(5, 7, 6, 4, "box", ((0.1, 0.2), (0.9, 0.8))),),
        ),
        graded(Part(7, "B120", "", box="box 5", photos=(8,)), CARB, (SOUND_RULE,),
               looks=(Look(2, 7, "bare", "", "A. Owner", AT.format(7)),)),
        graded(
            Part(8, "B140", "", box="box 6", photos=(9,)), GUARD, (BEND_RULE,),
            findings=(finding(5, 8, "bend", 2), finding(6, 8, "bend", 2, note="the stay side too")),
            marks=(Mark(6, 9, 8, 5, "pin", ((0.3, 0.5),)), Mark(7, 9, 8, 6, "pin", ((0.9, 0.5),))),
        ),
        graded(Part(9, "B100", "", box="box 5"), CRANK, (CRANK_RULE,),
               findings=(finding(7, 9, "bend", 1, "unseen", "the seller said so"),)),
        graded(
            Part(10, None, HOSTILE, box="=cmd|' /C calc'!A0", note=LETTERS, photos=(10, 11, 12, 13, 14)), None,
            (UNSEEN_RULE,), findings=(finding(8, 10, "paint_loss", 3, note="+1+1\r\n-2 " + HOSTILE),),
        ),
        graded(Part(11, "B145", "with the dairy's name", box="box 7", note="dairy's lettering, keep it"), CARRIER,
               (SOUND_RULE,), looks=(Look(3, 11, "bare", "", "A. Owner", AT.format(7)),)),
    )  # fmt: skip


def everywhere(text: str) -> ReportSource:
    """A survey with the same words in every place an owner may write in."""
    place = component("OWN1", text, text, "safety", "lug", finish=text)
    inner = component("OWN2", text, text, "safety", "lug", inside="OWN1")
    one = graded(
        Part(1, None, text, box=text, note=text, photos=(1, 2)), None, (CRACK_RULE, PIT_RULE),
        own_grade=OwnGrade(1, "repair", text, text, AT.format(9)),
        findings=(Finding(1, 1, "crack", 3, "bare", text, text, AT.format(7), (1,)),
                  Finding(2, 1, "bend", 2, "paint", text, text, AT.format(8))),
        looks=(Look(1, 1, "paint", text, text, AT.format(8)),),
        readings=(Reading(1, 1, text, 1.0, "mm", text, text, 0.1, text, AT.format(8)),),
        marks=(Mark(1, 1, 1, 1, "pin", ((0.5, 0.5),)),),
    )  # fmt: skip
    two = graded(Part(2, "OWN1", text, box=text, note=text), place, (CRACK_RULE,))
    stamps = (Number(1, text, text, text),)
    return ferryman(
        machine=Machine(text, "lightweight", text, text, text, text, text, text, text, stamps),
        schedule=(place, inner), graded=(one, two), gaps=(Gap(inner, "missing", 0, text, inside_present=True),),
        not_fitted=(),
    )  # fmt: skip


def photo(id: int, width: int = 4000, height: int = 3000, **more: Any) -> Photo:
    facts: dict[str, Any] = {
        "taken": f"2026-03-0{1 + id % 9}T10:00:00", "taken_from": "original", "offset": "+00:00",
        "make": "Invented Phone Co", "model": "Pocket 4", "has_position": True, "state": "placed",
    }  # fmt: skip
    name = f"IMG_{id:04}.jpg"
    file = f"originals/{name}"
    return Photo(f"{id:064x}", name, "JPEG", width, height, 3_000_000, file, id=id, **{**facts, **more})


def photos() -> dict[int, Photo]:
    found = {one: photo(one) for one in range(1, 15)}
    found[4] = photo(4, 3000, 4000)
    found[15] = photo(15, state="waiting")
    found[16] = photo(16, state="aside")
    return found


NEXT = (
    NextThing("search", "Front brake shoe", "What carries it is here.", component="X1"),
    NextThing("place", "Box 7", "Nobody has said what they show.", photo=15, count=3),
    NextThing("read", f"Rear chain {HOSTILE}", "A reading is owed.", part=1),
    NextThing("examine", "Frame, told elsewhere", "A test is owed.", part=2),
)


def section(key: str = "away") -> Section:
    """One of each kind of block, with words that are markup to somebody."""
    shown = Picture(CropRequest(1, (0.1, 0.1, 0.9, 0.9), 600), (), 0.75, "The old pair of stays", "before it went")
    return Section(
        key, "Sent away",
        (
            Line("Two things are out.", head="With the plater:", aside="since 2026-07-01", tick=True),
            Table(("What", "Count", ""), (("Stays", "2", HOSTILE), ("Spindle", "1", "")), (3, 1, 2), figures=(1,)),
            Facts((("Promised", "2026-08-01"), ("Said nothing", ""))),
            Entry("Pair of stays", "no. 9", (Line(HOSTILE, head="Plug:"),), (shown,), ("yes", "no")),
            Drawing(
                '<svg viewBox="0 0 90 20" stroke="currentColor"><path d="M5 10h80"/></svg>', "A line", "How to read"
            ),
            Blanks(("Signed out by", "Date")),
        ),
    )  # fmt: skip


def ferryman(**changed: Any) -> ReportSource:
    """The source; any field of it may be given otherwise."""
    machine = Machine(
        "Ferryman from the dairy", "lightweight", "Haldane-Pike", "Ferryman", "1957", "147 cc two-stroke, swinging arm",
        "seven boxes from a closed dairy", "A. Owner", "said to be all there",
        (Number(1, "frame, headstock left", "HP 147* 00831", "the star is stamped"),
         Number(2, "crankcase, left", "F57 1_4", "one figure blank")),
    )  # fmt: skip
    facts: dict[str, Any] = {
        "machine": machine, "schedule": SCHEDULE, "graded": parts(), "gaps": ABSENT, "photos": photos(), "kinds": KINDS,
        "rules_version": "1 of 2026-11", "product_version": "0.1.0", "made_at": "2026-11-25 08:30",
        "not_fitted": (SIDECAR,), "next_things": NEXT, "plan": (section(),),
    }  # fmt: skip
    return ReportSource(**{**facts, **changed})


def gradient_pictures(quality: int = 78) -> Callable[[CropRequest], bytes]:
    """A cutter that needs no photo: rusty noise of the size asked for, with EXIF and a comment to lose."""
    from PIL import Image, ImageFilter

    grounds: dict[tuple[int, int], Any] = {}

    def cut(request: CropRequest) -> bytes:
        left, top, right, bottom = request.box
        shape = (bottom - top) / (right - left) * (0.75 if request.photo != 4 else 4 / 3)
        size = (request.width_px, max(1, round(request.width_px * shape)))
        if size not in grounds:
            grain = Image.effect_noise(size, 70).filter(ImageFilter.GaussianBlur(2))
            grounds[size] = Image.merge(
                "RGB", (grain.point(lambda v: min(255, v + 40)), grain, grain.point(lambda v: v // 2 + 20))
            )
        picture = grounds[size].copy()
        picture.paste((30 + request.photo * 7 % 200, 60, 90), (10, 10, 40, 40))
        exif = Image.Exif()
        exif[0x010F] = "SECRET-CAMERA"
        out = io.BytesIO()
        picture.save(out, "JPEG", quality=quality, exif=exif, comment=b"SECRET-COMMENT")
        return out.getvalue()

    return cut
