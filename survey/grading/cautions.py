"""The dangers of the job: cautions in our own words with their sources, and which components they apply to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from survey.model.schedule import Component


@dataclass(frozen=True, slots=True)
class Caution:
    """A danger, what to do about it, and the source."""

    title: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class _Danger:
    """A caution and the components it applies to: by class, by material, or by a word in the original finish."""

    caution: Caution
    classes: frozenset[str] = frozenset()
    materials: frozenset[str] = frozenset()
    finishes: tuple[str, ...] = ()

    def applies(self, component: Component) -> bool:
        finish = component.finish.lower()
        return (
            component.part_class in self.classes
            or component.material in self.materials
            or any(word in finish for word in self.finishes)
        )


STANDING = Caution(
    "Before anything else",
    "Local codes and licensed practice come first. Wear eye protection, keep air moving, keep children and food away "
    "from old dust, and when in doubt stop and ask somebody who does the work for a living.",
    "common practice, no source",
)

_CARRIES = _Danger(
    Caution(
        "Steering, brakes, wheels, frame",
        "A crack, a bend or thin metal here can throw you off. Nothing in this report passes such a part: have it "
        "cleaned to bare metal and examined by somebody competent. Paint, powder and plating hide cracks, and a dye "
        "test that shows nothing is not proof on steel.",
        "DVSA motor-cycle inspection manual for what an inspector refuses; the rest common practice, no source",
    ),
    classes=frozenset(
        {
            "frame",
            "fork",
            "stanchion",
            "slider",
            "yoke",
            "handlebar",
            "lever",
            "linkage",
            "pivot",
            "wheel-spindle",
            "rim",
            "spokes",
            "hub",
            "drum",
            "brake-plate",
            "brake-shoe",
            "brake-cam",
            "tyre",
            "head-bearing",
            "wheel-bearing",
        }
    ),
)

_TANK = _Danger(
    Caution(
        "Petrol tank and heat",
        "Never weld, braze, solder with a flame, grind or cut a tank that has held petrol or oil: an empty one keeps "
        "enough in its seams to explode. A cold repair, another tank, or a specialist who first makes it free of "
        "vapour.",
        "HSE INDG314 (rev1), 2013; HSE safety alert FOD 8-2010",
    ),
    classes=frozenset({"tank"}),
)

_ASBESTOS = _Danger(
    Caution(
        "Asbestos in old linings and gaskets",
        "Take every old brake or clutch lining and gasket to hold asbestos. Do not blow, sand, drill or brush it dry; "
        "wipe it wet, bag it, and get rid of it as your local rules for asbestos waste say.",
        "HSE, motor vehicle repair: asbestos",
    ),
    classes=frozenset({"brake-shoe", "clutch-plate", "clutch", "seal", "brake-plate", "drum"}),
    materials=frozenset({"lining"}),
)

_LEAD = _Danger(
    Caution(
        "Lead in old paint and exhaust deposits",
        "Old paint may hold lead, and so do the pale deposits left by leaded petrol. Do not burn off or sand dry: "
        "strip it chemically or work wet, wash before eating, keep children and pregnant women away from the dust.",
        "NSC lead-safe work list; WorkSafe Victoria; for deposits by analogy with lead dust",
    ),
    classes=frozenset({"frame", "tinware", "tank", "exhaust", "head"}),
    finishes=("paint", "enamel"),
)

_CADMIUM = _Danger(
    Caution(
        "Cadmium on old fasteners",
        "Dull silver or golden plate on old bolts may be cadmium. Its fume kills and gives no early sign: do not heat, "
        "weld, braze or grind it. Loosen by oil and patience, or take it to somebody with extraction.",
        "HSE EIS31 (rev1); OSHA",
    ),
    classes=frozenset({"fastener", "spokes", "linkage", "stay"}),
    finishes=("cadmium",),
)

_SPRINGS = _Danger(
    Caution(
        "Springs under load",
        "A compressed spring lets go without warning. Use the proper compressor, cover it, stand aside, let it off "
        "slowly. Never plate or pickle a spring: it may break later, baked or not.",
        "common practice, no source; for plating ASTM B850 and ISO 9588",
    ),
    classes=frozenset({"spring", "damper", "fork", "slider", "clutch", "brake-shoe", "stand", "seat"}),
    materials=frozenset({"spring-steel"}),
)

_DANGERS = (_CARRIES, _TANK, _ASBESTOS, _LEAD, _CADMIUM, _SPRINGS)


def select_cautions(components: Iterable[Component]) -> tuple[Caution, ...]:
    """The standing caution, then each caution that applies to at least one of the components."""
    all_components = tuple(components)
    return (
        STANDING,
        *(danger.caution for danger in _DANGERS if any(danger.applies(component) for component in all_components)),
    )
