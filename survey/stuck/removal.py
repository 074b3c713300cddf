"""Stuck, seized and snapped things: what is seen of one gives points, and their sum says who gets it out.

The scale itself is product data (``survey/data/removal.toml``); its points are judgement and say so.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from survey.errors import BadValue

ONE_OF = ("metals", "hole", "end")
"""Groups of which exactly one holds; while one is not said, a sum is only the least it can be."""

SPENT = frozenset(("oil", "heat"))
"""Ways that, both tried in vain, make the condition ``heat-and-oil``."""

LEAVE_ALONE = ("outside", "machine-shop")
"""Bands in which nothing more is proposed for the bench."""


@dataclass(frozen=True, slots=True)
class Condition:
    """Something seen of a stuck thing, the points it gives and why. ``group``: of which one holds, or empty."""

    id: str
    group: str
    label: str
    points: int
    why: str
    things: tuple[str, ...]
    source: str
    sure: str


@dataclass(frozen=True, slots=True)
class Band:
    """What a sum of points from ``least`` on asks for."""

    id: str
    least: int
    label: str
    about: str
    source: str
    sure: str


@dataclass(frozen=True, slots=True)
class Way:
    """One way to get it out. ``ends``: ends it is for, any where empty; ``against``: what is said against it."""

    id: str
    label: str
    about: str
    things: tuple[str, ...]
    source: str
    ends: tuple[str, ...] = ()
    hot: bool = False
    against: str = ""


@dataclass(frozen=True, slots=True)
class Danger:
    """A caution and what brings it: any of the listed, a hot way that was tried or comes next, or always."""

    id: str
    text: str
    source: str
    classes: tuple[str, ...] = ()
    materials: tuple[str, ...] = ()
    duties: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()
    hot: bool = False
    always: bool = False


@dataclass(frozen=True, slots=True)
class Removal:
    """The whole scale. ``things``: what can be stuck, by id."""

    things: dict[str, str]
    conditions: tuple[Condition, ...]
    bands: tuple[Band, ...]
    ways: tuple[Way, ...]
    dangers: tuple[Danger, ...]


@dataclass(frozen=True, slots=True)
class Holder:
    """What holds it, for the cautions: duty, class and material of the part."""

    duty: str = "safety"
    part_class: str = ""
    material: str = ""


@dataclass(frozen=True, slots=True)
class Score:
    """How hard it is. ``unsaid``: groups nobody has answered, so ``total`` is the least it can be.

    ``next_way``: what to try next, None where nothing is left for the bench.
    """

    counted: tuple[Condition, ...]
    total: int
    unsaid: tuple[str, ...]
    band: Band
    tried: tuple[Way, ...]
    next_way: Way | None
    dangers: tuple[Danger, ...]


def validate_record(scale: Removal, thing: str, conditions: Iterable[str], tried: Iterable[str]) -> None:
    """Refuse what cannot be so.

    Raises:
        BadValue: an unknown word, a condition or way that such a thing cannot have, or two of one group.
    """
    if thing not in scale.things:
        raise BadValue(f"{thing!r} is nothing that can be stuck.", "Say one of: " + ", ".join(scale.things) + ".")
    taken: dict[str, str] = {}
    for word in conditions:
        known = [one for one in scale.conditions if one.id == word]
        allowed = [one.id for one in scale.conditions if thing in one.things]
        if not known or word not in allowed:
            raise BadValue(f"{scale.things[thing].capitalize()} is never {word!r}.", _one_of(allowed))
        group = known[0].group
        if group and taken.setdefault(group, word) != word:
            raise BadValue(f"It cannot be both {taken[group]!r} and {word!r}.", "Say the one that is so.")
    for word in tried:
        allowed = [one.id for one in scale.ways if thing in one.things]
        if word not in allowed:
            raise BadValue(f"{word!r} is no way to get out {scale.things[thing]}.", _one_of(allowed))


def score_removal(scale: Removal, thing: str, conditions: Iterable[str], tried: Iterable[str], holder: Holder) -> Score:
    """The points, their sum, its band, the next way and the cautions of a stuck thing.

    Words that the scale does not know (of a later or older Teachest) give nothing.
    """
    done = frozenset(tried)
    seen = frozenset(conditions) | ({"heat-and-oil"} if done >= SPENT else frozenset())
    counted = tuple(one for one in scale.conditions if one.id in seen and thing in one.things)
    total = sum(one.points for one in counted)
    said = {one.group for one in counted}
    band = [one for one in scale.bands if one.least <= total][-1]
    ways = tuple(way for way in scale.ways if way.id in done)
    following = None if band.id in LEAVE_ALONE else _next_way(scale, thing, seen, done)
    hot = any(way.hot for way in (*ways, *([following] if following else [])))
    return Score(
        counted=counted,
        total=total,
        unsaid=tuple(group for group in ONE_OF if group not in said),
        band=band,
        tried=ways,
        next_way=following,
        dangers=tuple(one for one in scale.dangers if _applies(one, holder, seen, hot)),
    )


def describe_score(what: str, found: Score) -> str:
    """``Exhaust stud: 7 points, outside help``; ``at least`` where something is still to be said."""
    least = "at least " if found.unsaid else ""
    points = "1 point" if found.total == 1 else f"{found.total} points"
    return f"{what}: {least}{points}, {found.band.label[:1].lower()}{found.band.label[1:]}"


def _next_way(scale: Removal, thing: str, seen: frozenset[str], done: frozenset[str]) -> Way | None:
    """The first way that is not tried, is open, fits the end, and that nobody argues against."""
    for way in scale.ways:
        fits = thing in way.things and (not way.ends or bool(seen & set(way.ends)))
        if fits and way.id not in done and not way.against and not (way.hot and "no-heat" in seen):
            return way
    return None


def _applies(danger: Danger, holder: Holder, seen: frozenset[str], hot: bool) -> bool:
    return (
        danger.always
        or (danger.hot and hot)
        or holder.part_class in danger.classes
        or holder.material in danger.materials
        or holder.duty in danger.duties
        or bool(seen & set(danger.conditions))
    )


def _one_of(allowed: Iterable[str]) -> str:
    return "Say one of: " + ", ".join(allowed) + "."
