"""Facts of published inspection manuals must never come out as "reuse", nor any part they refuse as fit.

Sources, as best established:
* DVSA, "MOT inspection manual: motorcycles" (gov.uk), section 5.2.2 for rims: lateral distortion at most 4 mm for
  steel, 2 mm for aluminium alloy rims, eccentricity at most 3 mm (read; the last unit was cut off in the copy read);
  5.1.3 wheel bearings; 5.2.1 hubs and spindles; 6.1.1 main frame members; section 2 steering.
* DVSA/VOSA car manual, section 9.2 (motor tricycles), reasons 1c and 6e: a handlebar or yoke deformed, cracked or
  inappropriately repaired; a suspension spring cracked, fractured or repaired by welding (read in a trade copy).
* DVSA, brakes: a rod or lever reduced by more than one third of its diameter or thickness (special notice 03-19 and the
  car manual, as summarised; the motorcycle section's number was not established); linings under 1.5 mm (trade summary).
"""

from __future__ import annotations

import pytest
from rules_cases import facts_from

from survey.grading.data import load_rulebook
from survey.grading.verdict import judge_part
from survey.model.grading import SEEN, STEPS
from survey.model.schedule import Catalogue
from survey.schedule.data import load_catalogues

BOOK = load_rulebook()
TESTED = {"crack_test": 0.0}
# Whatever throws somebody off when it lets go: frame, steering, suspension and wheel (MOT manual, sections 2, 5, 6).
CARRIES_THE_RIDER = (
    "frame", "lug", "fork", "stanchion", "slider", "yoke", "handlebar", "pivot", "wheel-spindle", "hub", "lever",
)  # fmt: skip


def outcome(part: str, found: list[str] | None = None, look: list[str] | None = None, **readings: float) -> str:
    return judge_part(BOOK, facts_from(part, found, look, **readings)).outcome


@pytest.mark.parametrize("seen", SEEN)
@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("kind", ["crack", "bent"])
@pytest.mark.parametrize("part", ["safety handlebar steel", "safety yoke steel", "safety yoke aluminium"])
def test_a_cracked_or_deformed_handlebar_or_yoke(part: str, kind: str, step: int, seen: str) -> None:
    """MOT manual, steering; car manual 9.2 reason 1c: cracked, fractured or deformed."""
    assert outcome(part, [f"{kind} {step} {seen}"], ["bare"], **TESTED) != "reuse"


@pytest.mark.parametrize("part", ["safety handlebar steel", "safety handlebar aluminium"])
@pytest.mark.parametrize("kind", ["crack", "bent"])
@pytest.mark.parametrize("step", [2, 3, 4])
def test_a_handlebar_proved_cracked_or_bent_is_replaced(part: str, kind: str, step: int) -> None:
    assert outcome(part, [f"{kind} {step} bare"]) == "replace"


@pytest.mark.parametrize("step", STEPS)
def test_a_spring_repaired_by_welding(step: int) -> None:
    """Car manual 9.2 reason 6e: a suspension spring repaired by welding, however tidily."""
    assert outcome("safety spring spring-steel", [f"previous_repair {step} bare"], ["bare"]) == "replace"


@pytest.mark.parametrize("step", [2, 3, 4])
def test_a_cracked_spring(step: int) -> None:
    """Car manual 9.2 reasons 6b and 6c; the fourth step of the spring finding says the same."""
    assert outcome("safety spring spring-steel", [f"crack {step} bare"], ["bare"]) == "replace"
    assert outcome("safety spring spring-steel", ["spring 4 bare"], ["bare"]) == "replace"


@pytest.mark.parametrize(("lost", "refused"), [(20.0, False), (33.3, False), (33.4, True), (50.0, True)])
def test_a_brake_rod_worn_by_a_third(lost: float, refused: bool) -> None:
    """DVSA, brakes: reduced by more than one third of its diameter."""
    assert (outcome("safety linkage steel", look=["bare"], rod_worn=lost) == "replace") is refused


@pytest.mark.parametrize("lost", [34.0, 60.0])
def test_a_brake_lever_worn_by_a_third(lost: float) -> None:
    assert outcome("safety lever steel", look=["bare"], rod_worn=lost, **TESTED) == "replace"


@pytest.mark.parametrize(
    ("material", "lateral", "radial", "inside"),
    [
        ("steel", 4.0, 3.0, True),
        ("steel", 4.1, 0.0, False),
        ("steel", 0.0, 3.1, False),
        ("aluminium", 2.0, 3.0, True),
        ("aluminium", 2.1, 0.0, False),
        ("aluminium", 0.0, 3.1, False),
    ],
)
@pytest.mark.parametrize("step", [1, 2])
def test_rim_run_out(material: str, lateral: float, radial: float, inside: bool, step: int) -> None:
    """MOT manual for motorcycles 5.2.2: 4 mm steel, 2 mm aluminium alloy, 3 mm eccentricity."""
    part = f"safety rim {material}"
    graded = outcome(part, [f"bent {step} bare"], rim_lateral=lateral, rim_radial=radial)
    assert graded == ("reuse" if inside else "examine-first")


def test_a_rim_of_unknown_material_is_inside_nothing() -> None:
    assert outcome("safety rim mixed", ["bent 2 bare"], rim_lateral=1.0, rim_radial=1.0) == "take-a-reading"


def test_a_rim_nobody_measured_is_not_inside() -> None:
    assert outcome("safety rim steel", ["bent 2 bare"]) == "take-a-reading"
    assert outcome("safety rim steel", look=["bare"]) == "take-a-reading"


@pytest.mark.parametrize("kind", ["crack", "bent", "perforation"])
@pytest.mark.parametrize("step", [3, 4])
def test_a_fractured_bent_or_rotten_frame(kind: str, step: int) -> None:
    """MOT manual for motorcycles 6.1.1: fractured, bent or corroded main frame members."""
    assert outcome("safety frame steel", [f"{kind} {step} bare"], ["bare"], **TESTED) in ("examine-first", "replace")


@pytest.mark.parametrize("part", ["safety wheel-bearing hard-steel", "safety head-bearing hard-steel"])
@pytest.mark.parametrize("step", [3, 4])
def test_play_or_roughness_in_a_wheel_or_head_bearing(part: str, step: int) -> None:
    """MOT manual for motorcycles 5.1.3 and section 2."""
    assert outcome(part, [f"wear {step} bare"]) == "replace"
    assert outcome(part, [f"bearing_track {step} bare"]) == "replace"


@pytest.mark.parametrize("step", [3, 4])
def test_noticeable_side_movement_of_the_swinging_arm(step: int) -> None:
    """MOT practice for motorcycles, rear suspension: any noticeable side movement at the pivot."""
    assert outcome("safety bush copper-alloy B013", [f"wear {step} bare"]) == "replace"


@pytest.mark.parametrize("kind", ["crack", "corrosion_surface", "wear"])
@pytest.mark.parametrize("step", [3, 4])
def test_spokes_cracked_corroded_or_loose(kind: str, step: int) -> None:
    """MOT manual for motorcycles 5.2.2: a spoke missing, cracked, loose, bent or corroded."""
    assert outcome("safety spokes steel", [f"{kind} {step} bare"]) == "replace"


@pytest.mark.parametrize(("thickness", "graded"), [(1.4, "replace"), (1.5, "reuse"), (4.0, "reuse")])
def test_brake_linings_under_one_and_a_half_millimetres(thickness: float, graded: str) -> None:
    """Trade summary of the motorcycle test: standard linings at least 1.5 mm."""
    part = "safety brake-shoe lining"
    assert outcome(part, ["friction_lining 1 bare"], lining_thickness=thickness) == graded


@pytest.mark.parametrize("step", [2, 3, 4])
def test_a_frayed_cable(step: int) -> None:
    """MOT manual, brakes: a cable frayed, knotted or corroded."""
    assert outcome("safety cable steel", [f"wear {step} bare"]) == "replace"


@pytest.mark.parametrize("stretch", [1.6, 2.0, 3.0, 5.0])
def test_a_chain_beyond_the_makers_figure(stretch: float) -> None:
    """Roller chain makers' published practice: 1.5 per cent on fixed centres, 3 on adjustable drives."""
    assert outcome("safety chain steel", look=["bare"], chain_stretch=stretch) == "replace"


def test_a_clean_look_is_no_crack_test() -> None:
    """Penetrant and magnetic testing (ISO 3452-1, ISO 9934-1) exist because eyes miss cracks."""
    for part in CARRIES_THE_RIDER:
        assert outcome(f"safety {part} steel", look=["bare"]) == "examine-first"
        assert outcome(f"safety {part} steel", look=["bare"], rod_worn=0.0, **TESTED) == "reuse"
        assert outcome(f"safety {part} steel", look=["bare"], crack_test=1) in ("examine-first", "replace")


def test_overall_condition_is_the_worst_one_found() -> None:
    """Spectrum 5.1, Collections Trust: the single overall condition is the worst individual condition."""
    mild = ["paint_loss 1 bare", "dent 1 bare"]
    assert outcome("safety tinware steel", mild) == "repair"
    assert outcome("safety tinware steel", [*mild, "perforation 4 bare"]) == "replace"


@pytest.mark.parametrize("step", [2, 3, 4])
def test_a_broken_off_tab_on_a_mudguard_is_a_repair(step: int) -> None:
    """Common practice, no source."""
    assert outcome("safety tinware steel", [f"broken_tab {step} bare"]) == "repair"


@pytest.mark.parametrize("duty", ["safety", "running", "cosmetic", "paperwork"])
@pytest.mark.parametrize("part_class", BOOK.words.classes)
def test_a_part_from_another_machine_is_not_reused_here(duty: str, part_class: str) -> None:
    """Common practice, no source."""
    assert outcome(f"{duty} {part_class} steel", ["wrong_part 4 bare"], ["bare"], **TESTED) == "replace"


# What one clean look at the bare part is worth, class by class; what is left at "reuse" can be seen from every side
# and is looked at again when it is built up. Where no manual is named: judgement.
ONE_CLEAN_LOOK = {
    "replace": {"chain-link"},
    "examine-first": {*CARRIES_THE_RIDER, "tyre"},
    "take-a-reading": {
        "rim",  # MOT manual for motorcycles 5.2.2
        "chain", "brake-shoe", "linkage", "cable",  # MOT manual, brakes; chain makers' figures
        "drum", "spring",
        "tank", "fuel-fitting", "float",  # MOT manual for motorcycles, section 6: no leak
    },
    "reuse": {
        "brake-cam", "brake-plate", "bush", "carburettor", "control", "damper", "fastener", "head-bearing", "lamp",
        "rubber", "seal", "seat", "spokes", "sprocket", "stand", "stay", "switch", "tinware", "wheel-bearing", "wiring",
    },
}  # fmt: skip


@pytest.mark.parametrize("kind", load_catalogues(), ids=lambda kind: kind.kind)
def test_what_one_clean_look_is_worth(kind: Catalogue) -> None:
    for one in (*kind.components, *kind.extras):
        if one.duty == "safety":
            graded = outcome(f"safety {one.part_class} {one.material} {one.id}", look=["bare"])
            assert one.part_class in ONE_CLEAN_LOOK[graded], (one, graded)


@pytest.mark.parametrize("material", ["rubber", "fibre"])
def test_no_look_makes_an_old_tyre_young(material: str) -> None:
    """Published advice gives a tyre five to seven years, some ten; a look does not tell its age."""
    for found in ([], ["rubber 1 bare"], ["wear 1 bare"]):
        assert outcome(f"safety tyre {material}", found, ["bare"]) == "examine-first"


@pytest.mark.parametrize(
    ("part", "reading"),
    [
        ("safety cable spring-steel", {"broken_strands": 0.0}),
        ("safety linkage steel", {"rod_worn": 10.0}),
        ("safety tank steel", {"leak_test": 0.0}),
        ("safety fuel-fitting copper-alloy", {"leak_test": 0.0}),
        ("safety spring spring-steel", {"spring_length": 62.0, "spring_length_book": 61.0}),
    ],
)
def test_what_is_owed_can_be_given(part: str, reading: dict[str, float]) -> None:
    assert outcome(part, look=["bare"]) == "take-a-reading"
    assert outcome(part, look=["bare"], **reading) == "reuse"


@pytest.mark.parametrize("duty", ["running", "cosmetic"])
def test_what_hurts_nobody_owes_nothing_for_a_clean_look(duty: str) -> None:
    for part in ("cable spring-steel", "spring spring-steel", "linkage steel", "tank steel", "lever steel"):
        assert outcome(f"{duty} {part}", look=["bare"]) == "reuse"


@pytest.mark.parametrize("material", ["glass", "hard-plastic"])
@pytest.mark.parametrize("step", [2, 3, 4])
def test_a_cracked_lens_is_not_welded(material: str, step: int) -> None:
    """Common practice, no source."""
    assert outcome(f"safety lamp {material}", [f"crack {step} bare"], ["bare"]) == "replace"


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("kind", ["crack", "perforation"])
@pytest.mark.parametrize("part_class", ["lamp", "tinware"])
def test_only_sheet_metal_is_mended_as_sheet(part_class: str, kind: str, step: int) -> None:
    """Common practice, no source: what is not sheet metal takes no weld and no solder."""
    for material in ("zinc", "hard-plastic", "glass", "rubber", "fibre", "cast-iron", "unknown"):
        graded = outcome(f"safety {part_class} {material}", [f"{kind} {step} bare"], ["bare"])
        assert graded in ("examine-first", "replace"), material
    if step < 3:
        assert outcome(f"safety {part_class} steel", [f"{kind} {step} bare"], ["bare"]) == "repair"
