"""A small survey for the tests of the browser door: three photos, four parts, a little of everything."""

from __future__ import annotations

from pathlib import Path

from PIL import Image

from survey.machine.verbs import add_number
from survey.outwork.verbs import change_item, make_batch, receive_item, send_batch
from survey.parts.finding_verbs import add_finding, add_look, add_reading, list_reading_kinds
from survey.parts.verbs import add_part, set_own_grade
from survey.photos.verbs import add_mark, take_in_photos
from survey.schedule.verbs import set_position
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey

BAR, PLATE, RIM, LUG = 1, 2, 3, 4


def photographs(room: Path) -> list[Path]:
    """Three pictures, two of one run and one of a later; the second stands upright."""
    made = []
    for number, (size, colour, taken) in enumerate(
        [
            ((640, 480), "saddlebrown", "2026:06:06 19:02:10"),
            ((480, 640), "slategrey", "2026:06:06 19:03:40"),
            ((640, 480), "darkolivegreen", "2026:06:07 10:15:00"),
        ],
        start=1,
    ):
        exif = Image.Exif()
        exif.get_ifd(0x8769)[0x9003] = taken
        made.append(room / f"box{number}.jpg")
        Image.new("RGB", size, colour).save(made[-1], exif=exif)
    return made


def build(folder: Path, room: Path) -> None:
    """The survey; parts get the numbers named above."""
    with make_survey(folder, "lightweight", "Ferryman in boxes", by="Wren") as survey:
        take_in_photos(survey, photographs(room))
        add_number(survey, "frame lug", "HP57 1182 *", "raking light")
        bar = add_part(survey, "B052", photos=[1], box="Box 3", note="left end")
        add_finding(survey, bar.id, "bent", 3, seen="bare", photo=1, points=[(0.25, 0.5)], note="smooth curve")
        add_mark(survey, 1, "outline", [(0.1, 0.1), (0.5, 0.1), (0.5, 0.6)], part=bar.id)
        plate = add_part(survey, "B076", photos=[2])
        corners = [(0.2, 0.2), (0.6, 0.7)]
        add_finding(survey, plate.id, "crack", 2, seen="bare", photo=2, shape="box", points=corners)
        set_own_grade(survey, plate.id, "repair", "an alloy welder has done two of these")
        rim = add_part(survey, "B067")
        add_look(survey, rim.id, seen="bare", note="spun it by hand")
        reading = next(kind.id for kind in list_reading_kinds(survey, rim.id))
        add_reading(survey, rim.id, reading, "1.5 mm", "dial gauge")
        add_part(survey, None, label="strange lug")
        _send_away(survey)
        set_position(survey, "B055", "missing", "never in the boxes")


def _send_away(survey: Survey) -> None:
    """Batch 1 is being made up; batch 2 is out, and what is in it was looked over on its return."""
    plating = make_batch(survey, "plate", [BAR], who="Hollin Brothers", high="40")
    change_item(
        survey, plating.items[0].id, tag="1", finish="nickel", photos=(1, 2), before={"length": "26 in"},
        said={"crack-test": "no"},
    )  # fmt: skip
    wheel = make_batch(survey, "spoke", [RIM], who="Ostler Wheels", promised="2026-06-20")
    send_batch(survey, wheel.id, day="2026-06-08", anyway="as a pattern")
    receive_item(survey, wheel.items[0].id, 1, day="2026-06-15", after={"rim lateral": "2 mm"}, damage="a dent")
