"""The catalogues: what a restorer expects of them.

What a machine of a kind is made of is common practice, no source.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from importlib.resources import files

import pytest

from survey.errors import NoSuchThing
from survey.model.schedule import Catalogue, Component
from survey.schedule.data import load_catalogue, load_catalogues, load_default_duty
from survey.vocabulary import load_vocabulary

KINDS = ("autocycle", "lightweight", "girder-single")

# Words no component of the three kinds uses, and why they stay.
JUSTIFIED = {"belt": "a belt-driven machine's owner adds its belt to the schedule"}


def everything(book: Catalogue) -> tuple[Component, ...]:
    return (*book.components, *book.extras)


def all_components() -> Iterator[Component]:
    for book in load_catalogues():
        yield from everything(book)


def by_id(kind: str) -> dict[str, Component]:
    return {component.id: component for component in everything(load_catalogue(kind))}


def by_label(kind: str, label: str) -> Component:
    return next(component for component in everything(load_catalogue(kind)) if component.label == label)


def inside(kind: str, parent: str) -> set[str]:
    """Labels of everything inside a component, however deep."""
    found: set[str] = set()
    waiting = [parent]
    while waiting:
        at = waiting.pop()
        for component in everything(load_catalogue(kind)):
            if component.inside == at:
                found.add(component.label)
                waiting.append(component.id)
    return found


def test_there_are_three_kinds_with_a_title_each() -> None:
    assert tuple(book.kind for book in load_catalogues()) == KINDS
    assert all(book.title for book in load_catalogues())


def test_a_catalogue_is_read_once() -> None:
    assert load_catalogue("lightweight") is load_catalogue("lightweight")
    assert load_catalogues()[1] is load_catalogue("lightweight")


def test_a_kind_there_is_none_of_is_refused_with_the_nearest() -> None:
    with pytest.raises(NoSuchThing, match="lightwait") as caught:
        load_catalogue("lightwait")
    assert "Did you mean lightweight?" in caught.value.next_step


@pytest.mark.parametrize(("kind", "letter"), [*zip(KINDS, "ABC", strict=True)])
def test_a_kind_has_about_two_hundred_components_under_its_own_letter(kind: str, letter: str) -> None:
    book = load_catalogue(kind)
    assert 160 <= len(book.components) <= 230
    assert all(component.id.startswith(letter) for component in everything(book))


def test_no_id_is_used_twice_over_all_catalogues() -> None:
    twice = [name for name, count in Counter(component.id for component in all_components()).items() if count > 1]
    assert twice == []


def test_ids_that_people_may_have_written_down_still_mean_the_same() -> None:
    assert by_id("autocycle")["A006"].label == "Frame"
    assert by_id("lightweight")["B170"].label == "Front mudguard"
    assert by_id("lightweight")["B052"].label == "Handlebar"
    assert by_id("lightweight")["B144"].label == "Carburettor body"
    assert by_id("girder-single")["C137"].label == "Petrol tank"


def test_a_lettered_id_has_its_plain_id_beside_it() -> None:
    known = {component.id for component in all_components()}
    assert [name for name in known if len(name) == 5 and name[:4] not in known] == []


def test_no_two_components_of_an_assembly_share_a_label() -> None:
    for book in load_catalogues():
        labels = Counter((component.assembly, component.label.casefold()) for component in everything(book))
        assert [label for label, count in labels.items() if count > 1] == []


def test_no_label_lumps_a_pair_or_two_things_that_are_lost_separately() -> None:
    lumped = re.compile(r"\bpair\b|jets|tyre, tube|float.*needle|shell and rim|cam and arm|pin and circlips")
    assert [
        component.label for book in load_catalogues() for component in book.components if lumped.search(component.label)
    ] == []


def test_every_component_says_what_it_suffers_and_what_to_measure() -> None:
    for component in all_components():
        assert component.faults, component
        assert component.likely, component
        assert component.sizes, component


def test_no_fault_leans_on_another_row() -> None:
    assert [c.id for c in all_components() if any(fault.startswith("as ") for fault in c.faults)] == []


def test_an_extra_is_never_everywhere() -> None:
    assert [component.id for book in load_catalogues() for component in book.extras if component.everywhere] == []


@pytest.mark.parametrize("kind", KINDS)
def test_a_carburettor_without_its_float_and_needle_is_a_part_with_gaps_inside(kind: str) -> None:
    """Common practice, no source: float, needle, bowl, slide, jet needle and main jet are lost one by one."""
    body = by_label(kind, "Carburettor body")
    parts = inside(kind, body.id)
    assert {"Float", "Float needle", "Throttle slide", "Jet needle", "Main jet"} <= parts
    assert parts & {"Float bowl", "Float chamber"}


def test_the_carburettor_of_the_lightweight_keeps_its_numbers() -> None:
    labels = {name: component.label for name, component in by_id("lightweight").items()}
    assert (labels["B146"], labels["B146a"], labels["B146b"]) == ("Float", "Float needle", "Float bowl")


@pytest.mark.parametrize("kind", KINDS)
def test_steering_bearings_are_answered_top_and_bottom(kind: str) -> None:
    """Common practice, no source: the lower races take the blows, so the two are judged apart."""
    bearings = [component for component in load_catalogue(kind).components if component.part_class == "head-bearing"]
    for race in ("cup", "cone"):
        of_race = [component.label for component in bearings if f"bearing {race}" in component.label]
        assert sorted("upper" in label for label in of_race) == [False, True]
        assert sorted("lower" in label for label in of_race) == [False, True]


@pytest.mark.parametrize(
    ("label", "counts"),
    [
        ("Front spokes and nipples", (36, 36, 40)),
        ("Rear spokes and nipples", (36, 36, 40)),
        ("Front brake shoe", (2, 2, 2)),
        ("Handgrip", (2, 2, 2)),
        ("Head bearing balls", (50, 40, 56)),
    ],
)
def test_quantities_are_counts_of_single_things(label: str, counts: tuple[int, int, int]) -> None:
    """Common practice, no source: 33 spokes of 36 can only be said where the 36 is on the schedule."""
    assert tuple(by_label(kind, label).quantity for kind in KINDS) == counts


@pytest.mark.parametrize(
    ("name", "part_class", "duty", "material"),
    [
        ("A032", "handlebar", "safety", "steel"),
        ("A049", "rim", "safety", "steel"),
        ("A052", "drum", "safety", "steel"),
        ("A077", "sprocket", "safety", "steel"),
        ("A094", "casting", "running", "aluminium"),
        ("B011", "frame", "safety", "steel"),
        ("B037", "stanchion", "safety", "hard-steel"),
        ("B062", "linkage", "safety", "steel"),
        ("B070", "drum", "safety", "cast-iron"),
        ("B098", "chain", "safety", "steel"),
        ("B110", "barrel", "running", "cast-iron"),
        ("B137", "tank", "safety", "steel"),
        ("B146", "float", "safety", "copper-alloy"),
        ("B146a", "float", "safety", "copper-alloy"),
        ("B170", "tinware", "safety", "steel"),
        ("C009", "lug", "safety", "malleable-iron"),
        ("C022", "fork", "safety", "steel"),
        ("C029", "pivot", "safety", "hard-steel"),
        ("C033", "spring", "safety", "spring-steel"),
        ("C153", "winding", "running", "electrical"),
    ],
)
def test_what_the_rules_stand_on(name: str, part_class: str, duty: str, material: str) -> None:
    component = next(component for component in all_components() if component.id == name)
    assert (component.part_class, component.duty, component.material) == (part_class, duty, material)


# Common practice, no source: what can throw the rider, stop the brakes working, jam a wheel or feed a fire.
SAFETY_CLASSES = {
    "frame", "lug", "stand", "fork", "stanchion", "slider", "yoke", "handlebar", "pivot", "wheel-spindle", "rim",
    "spokes", "hub", "drum", "brake-plate", "brake-shoe", "brake-cam", "tyre", "head-bearing", "float",
}  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_no_component_has_less_duty_than_its_class(kind: str) -> None:
    assert {word for word, least in load_vocabulary().least_duty.items() if least == "safety"} == SAFETY_CLASSES
    duties = {(c.part_class, c.duty) for c in everything(load_catalogue(kind)) if c.part_class in SAFETY_CLASSES}
    assert duties <= {(part_class, "safety") for part_class in SAFETY_CLASSES}


@pytest.mark.parametrize("part_class", [*sorted(SAFETY_CLASSES), "lever", "linkage", "stay", "fastener", "cable"])
def test_what_a_class_may_be_is_what_it_is_until_its_owner_says(part_class: str) -> None:
    """A brake rod and a gear rod are of one class: nobody who says nothing has said that it is the gear rod."""
    assert load_default_duty(part_class) == "safety"


def test_a_class_that_never_hurts_is_not_made_safety() -> None:
    assert [load_default_duty(word) for word in ("casting", "trim", "paper")] == ["running", "cosmetic", "paperwork"]
    assert load_default_duty("belt") == load_default_duty("unknown") == "safety"


def test_what_holds_a_guard_off_a_wheel_is_safety() -> None:
    stays = [component for component in all_components() if "mudguard stay" in component.label]
    assert len(stays) == 6
    assert {component.duty for component in stays} == {"safety"}


def test_whatever_is_inside_is_of_the_same_catalogue_and_on_its_schedule() -> None:
    for book in load_catalogues():
        scheduled = {component.id for component in book.components}
        assert [c.id for c in book.components if c.inside is not None and c.inside not in scheduled] == []


def test_only_some_lightweights_are_four_strokes() -> None:
    four_stroke = [
        c for c in everything(load_catalogue("lightweight")) if any("four-stroke only" in f for f in c.faults)
    ]
    assert len(four_stroke) >= 10
    assert [component.id for component in four_stroke if component.everywhere] == []


@pytest.mark.parametrize(
    ("name", "american"),
    [
        ("A116", "gas tank"),
        ("B137", "gas tank"),
        ("B139", "gas cap"),
        ("B140", "petcock"),
        ("B170", "front fender"),
        ("C171", "rear fender"),
        ("B074", "front axle"),
        ("C083", "rear axle"),
        ("B150", "muffler"),
        ("C151", "muffler"),
        ("B037", "fork leg"),
        ("A104", "wrist pin"),
        ("C113", "wrist pin"),
        ("B054", "throttle grip"),
        ("B030", "top triple clamp"),
        ("B082", "front tire"),
        ("B144", "carburetor"),
        ("B160", "headlight bucket"),
        ("B164", "tail light"),
        ("B157b", "spark plug"),
        ("A154", "seat post"),
        ("C158", "generator"),
        ("B178", "license plate"),
        ("B099", "master link"),
        ("B011", "swingarm"),
    ],
)
def test_a_part_answers_to_its_american_name_too(name: str, american: str) -> None:
    component = next(component for component in all_components() if component.id == name)
    assert american in component.names


def test_no_other_name_repeats_the_label() -> None:
    assert [c.id for c in all_components() if c.label.casefold() in {name.casefold() for name in c.names}] == []


def test_every_word_of_the_vocabulary_is_used_or_justified() -> None:
    components = list(all_components())
    words = load_vocabulary()
    assert set(words.class_) - {component.part_class for component in components} == set(JUSTIFIED)
    materials = {word for component in components for word in (component.material, *component.other_materials)}
    assert set(words.material) == materials
    assert set(words.duty) == {component.duty for component in components}


def test_a_material_is_not_also_its_own_other_material() -> None:
    assert [c.id for c in all_components() if c.material in c.other_materials] == []


def test_rubber_findings_are_not_expected_of_bare_metal() -> None:
    metals = {"steel", "hard-steel", "spring-steel", "malleable-iron", "cast-iron", "aluminium"}
    assert [c.id for c in all_components() if "rubber" in c.likely and {c.material, *c.other_materials} <= metals] == []


def test_the_files_say_that_they_have_no_source() -> None:
    folder = files("survey").joinpath("data", "catalogues")
    for file in folder.iterdir():
        head = [line for line in file.read_text("utf-8").splitlines() if line.startswith("#")]
        assert any("common practice, no source" in line for line in head), file.name


def test_the_only_capitals_inside_a_label_are_abbreviations() -> None:
    """A make or model would be a proper name: apart from the first letter, labels and names have none."""
    proper = re.compile(r"(?<=.)\b[A-Z][a-z]")
    found = [text for c in all_components() for text in (c.label, *c.names, *c.faults, *c.sizes) if proper.search(text)]
    assert found == []


def test_the_knowledge_package_does_not_load_the_rules_for_a_catalogue() -> None:
    code = "import sys; import survey.schedule.data; print('survey.grading.data' in sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"
