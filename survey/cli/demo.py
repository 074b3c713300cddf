"""The demo: an invented survey told from data, ``demo.toml`` among the sample photos."""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from survey.belonging.verbs import add_evidence, keep_as_pattern
from survey.build_order.verbs import add_pair, set_step_state
from survey.errors import AlreadyASurvey, BrokenKnowledge
from survey.fits.verbs import add_fit
from survey.gates.verbs import answer_gate
from survey.machine.verbs import add_number, change_machine
from survey.model.schedule import Component
from survey.money.verbs import add_money_line, set_contingency
from survey.money.worth_verbs import add_comparison, set_sale_price
from survey.outwork.verbs import (
    BATCH_FIELDS,
    ITEM_FIELDS,
    change_item,
    close_batch,
    make_batch,
    receive_item,
    send_batch,
)
from survey.parts.finding_verbs import add_finding, add_look, add_reading
from survey.parts.verbs import add_part, list_parts, set_own_grade
from survey.photos.verbs import change_photo, list_photos, set_photos_aside, take_in_photos
from survey.schedule.verbs import add_component, get_extra_component, list_components, set_position
from survey.settings import get_sample_photos_dir
from survey.shelf.verbs import make_survey, open_survey
from survey.store.survey import Survey
from survey.stuck.verbs import add_stuck
from survey.wants.verbs import set_want

STORY = "demo.toml"
TOLD = "demo.txt"
"""Left in the demo's folder, so that nobody's own survey is taken for it."""
_BUILDING = ".being-built"


def build_demo(folder: Path, say: Callable[[str], None]) -> Survey:
    """Build the demo survey in that folder, or open it if it was built before.

    It is built beside its place and moved there when it is whole: a demo that was broken off is built anew.

    Raises:
        AlreadyASurvey: the folder is in use for something else.
        BrokenKnowledge: the story names a photo or component that is not there.
    """
    if (folder / TOLD).exists():
        say(f"The demo in {folder} was built before and is opened as it stands.")
        return open_survey(folder)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise AlreadyASurvey(f"{str(folder)!r} is in use and is not the demo.", "Name another folder for the demo.")
    building = folder.resolve().with_name(f".{folder.resolve().name}{_BUILDING}")
    shutil.rmtree(building, ignore_errors=True)
    _build(building, say)
    if folder.exists():
        folder.rmdir()
    building.rename(folder)
    return open_survey(folder)


def _build(folder: Path, say: Callable[[str], None]) -> None:
    samples = get_sample_photos_dir()
    story = tomllib.loads((samples / STORY).read_text("utf-8"))
    machine = dict(story["machine"])
    with make_survey(folder, machine.pop("kind"), machine.pop("name"), by=machine["surveyor"]) as survey:
        components = len(list_components(survey))
        say(f"The {story['machine']['name']}, an invented machine: {components} components on its schedule.")
        change_machine(survey, **machine)
        for number in story.get("number", []):
            add_number(survey, **number)
        for extra in story.get("extras", []):
            add_component(survey, get_extra_component(survey, extra))
        for own in story.get("component", []):
            add_component(survey, Component(own=True, **own))
        result = take_in_photos(survey, [samples / name for name in story["photos"]])
        if result.refused:
            raise BrokenKnowledge(f"{STORY}: {result.refused[0].path} was refused: {result.refused[0].message}")
        photos = {photo.name: photo.id for photo in list_photos(survey)}
        _Teller(survey, photos).tell(story)
        (folder / TOLD).write_text("This survey is the demo; its reports may be written again.\n", "utf-8")
        say(f"{len(photos)} photos taken in, {len(list_parts(survey))} parts recorded.")


class _Teller:
    """Puts one story into one survey, in the story's order."""

    def __init__(self, survey: Survey, photos: Mapping[str, int]) -> None:
        self._survey = survey
        self._photos = photos
        self._parts: dict[str, int] = {}

    def tell(self, story: Mapping[str, Any]) -> None:
        """Boxes, parts with all that was seen on them, then what is not there and how far the build is."""
        for name, box in story.get("boxes", {}).items():
            change_photo(self._survey, self._photo(name), box=box)
        for told in story.get("part", []):
            self._part(told)
        for position in story.get("position", []):
            set_position(self._survey, position["component"], position["state"], position.get("note", ""))
        for fit in story.get("fit", []):
            self._fit(fit)
        for pair in story.get("before", []):
            add_pair(self._survey, **pair)
        for step in story.get("step", []):
            set_step_state(self._survey, step["id"], step["said"], step.get("note", ""))
        for batch in story.get("batch", []):
            self._batch(batch)
        self._money(story)
        aside = [self._photo(name) for name in story.get("aside", [])]
        if aside:
            set_photos_aside(self._survey, aside)

    def _money(self, story: Mapping[str, Any]) -> None:
        """What is said of wants and of money, and the owner's word on the gates."""
        for want in story.get("want", []):
            set_want(self._survey, **want)
        for line in story.get("money", []):
            add_money_line(self._survey, **line)
        for like in story.get("comparison", []):
            add_comparison(self._survey, **like)
        for sale in story.get("sale", []):
            fetches = {name: text for name, text in sale.items() if name != "part"}
            set_sale_price(self._survey, self._parts[sale["part"]], **fetches)
        if "contingency" in story:
            set_contingency(self._survey, story["contingency"])
        for gate in story.get("gate", []):
            answer_gate(self._survey, gate["id"], gate["said"], gate["because"])

    def _part(self, told: Mapping[str, Any]) -> None:
        names = ("label", "quantity", "box", "note", "material")
        fields = {name: told[name] for name in names if name in told}
        holder = self._parts[told["inside"]] if "inside" in told else None
        part = add_part(
            self._survey, told.get("component"), photos=[self._photo(name) for name in told.get("photos", [])],
            inside=holder, **fields,
        )  # fmt: skip
        self._parts[told.get("key", str(part.id))] = part.id
        for finding in told.get("finding", []):
            self._finding(part.id, finding)
        for look in told.get("look", []):
            add_look(self._survey, part.id, seen=look["seen"], note=look.get("note", ""), photo=self._maybe(look))
        for reading in told.get("reading", []):
            add_reading(self._survey, part.id, reading["name"], reading["value"], reading.get("tool", ""))
        for evidence in told.get("evidence", []):
            add_evidence(
                self._survey, part.id, evidence["kind"], note=evidence.get("note", ""), who=evidence.get("who", ""),
                photo=self._maybe(evidence),
            )  # fmt: skip
        for stuck in told.get("stuck", []):
            add_stuck(self._survey, part.id, **stuck)
        if "pattern" in told:
            keep_as_pattern(self._survey, part.id, told["pattern"])
        if "own_grade" in told:
            set_own_grade(self._survey, part.id, told["own_grade"], told["because"])

    def _finding(self, part_id: int, told: Mapping[str, Any]) -> None:
        points = [(float(x), float(y)) for x, y in told.get("at", [])]
        shape: Any = {0: "pin", 1: "pin", 2: "box"}.get(len(points), "outline")
        add_finding(
            self._survey, part_id, told["kind"], told["step"], seen=told.get("seen"), note=told.get("note", ""),
            photo=self._maybe(told), shape=shape, points=points,
        )  # fmt: skip

    def _batch(self, told: Mapping[str, Any]) -> None:
        """Work sent away: made up, and as far as the story goes sent out and taken back in."""
        said = {name: told[name] for name in BATCH_FIELDS if name in told}
        batch = make_batch(self._survey, told["trade"], [self._parts[one["part"]] for one in told["item"]], **said)
        for item, one in zip(batch.items, told["item"], strict=True):
            fields = {name: one[name] for name in ITEM_FIELDS if name in one}
            if "photos" in one:
                first, *other = (self._photo(name) for name in one["photos"])
                fields["photos"] = (first, other[0] if other else None)
            change_item(self._survey, item.id, **fields)
        if "out" not in told:
            return
        send_batch(self._survey, batch.id, day=told["out"], anyway=told.get("anyway", ""))
        names = ("after", "threads", "damage", "short_note")
        for item, one in zip(batch.items, told["item"], strict=True):
            if "came_back" in one:
                back = {name: one[name] for name in names if name in one}
                receive_item(self._survey, item.id, one["came_back"], day=told["back"], **back)
        if "back" in told:
            close_batch(self._survey, batch.id, day=told["back"])

    def _fit(self, told: Mapping[str, Any]) -> None:
        fields = {name: told[name] for name in ("side", "packed", "gap", "width", "note") if name in told}
        photos = [self._photo(name) for name in told.get("photos", [])]
        part, other = self._parts[told["part"]], self._parts[told["other"]]
        add_fit(self._survey, part, other, told["result"], photos=photos, **fields)

    def _maybe(self, told: Mapping[str, Any]) -> int | None:
        return self._photo(told["photo"]) if "photo" in told else None

    def _photo(self, name: str) -> int:
        try:
            return self._photos[name]
        except KeyError:
            raise BrokenKnowledge(f"{STORY} names a photo {name!r} that is not among the sample photos.") from None
