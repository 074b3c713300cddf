"""Stuck, seized and snapped things: conditions give points, and their sum says who should get the thing out.

The scale is product data (``survey/data/removal.toml``); its points are marked there as judgement.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from survey.errors import BadValue

EXCLUSIVE_GROUPS = ("metals", "hole", "end")
"""Groups of conditions of which exactly one is true; while a group has no answer, the sum is only a minimum."""

HEAT_AND_OIL = frozenset(("oil", "heat"))
"""Two ways that add the condition ``heat-and-oil`` when both have been tried in vain."""

LEAVE_ALONE = ("outside", "machine-shop")
"""Bands for which no further way is proposed."""


@dataclass(frozen=True, slots=True)
class Condition:
    """Something seen on a stuck thing, its points and why. ``group``: one of ``EXCLUSIVE_GROUPS``, or empty."""

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
    """What to do at a sum of ``least`` points or more."""

    id: str
    least: int
    label: str
    about: str
    source: str
    sure: str


@dataclass(frozen=True, slots=True)
class Way:
    """One way to get it out. ``ends``: conditions of the end it is for, empty: any; ``against``: why not to use it."""

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
    """A caution and when it applies: for any word listed, for a hot way that was tried or is next, or always."""

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
class RemovalScale:
    """The whole scale. ``things``: what can be stuck, by id."""

    things: dict[str, str]
    conditions: tuple[Condition, ...]
    bands: tuple[Band, ...]
    ways: tuple[Way, ...]
    dangers: tuple[Danger, ...]


@dataclass(frozen=True, slots=True)
class Holder:
    """The part that the thing is stuck in, for the cautions: its duty, class and material."""

    duty: str = "safety"
    part_class: str = ""
    material: str = ""


@dataclass(frozen=True, slots=True)
class Score:
    """How hard it is. ``unsaid``: groups without an answer; while there are any, ``total`` is a minimum.

    ``next_way``: what to try next, None where nothing more is proposed.
    """

    counted: tuple[Condition, ...]
    total: int
    unsaid: tuple[str, ...]
    band: Band
    tried: tuple[Way, ...]
    next_way: Way | None
    dangers: tuple[Danger, ...]


def validate_record(scale: RemovalScale, thing: str, conditions: Iterable[str], tried: Iterable[str]) -> None:
    """Refuse conditions and ways that are not valid for the thing.

    Raises:
        BadValue: an unknown word, a condition or way that such a thing cannot have, or two conditions of one group.
    """
    if thing not in scale.things:
        raise BadValue(f"{thing!r} is nothing that can be stuck.", "Say one of: " + ", ".join(scale.things) + ".")
    taken: dict[str, str] = {}
    for word in conditions:
        known = [condition for condition in scale.conditions if condition.id == word]
        allowed = [condition.id for condition in scale.conditions if thing in condition.things]
        if not known or word not in allowed:
            raise BadValue(f"{scale.things[thing].capitalize()} is never {word!r}.", _say_one_of(allowed))
        group = known[0].group
        if group and taken.setdefault(group, word) != word:
            raise BadValue(f"It cannot be both {taken[group]!r} and {word!r}.", "Say the one that is so.")
    for word in tried:
        allowed = [way.id for way in scale.ways if thing in way.things]
        if word not in allowed:
            raise BadValue(f"{word!r} is no way to get out {scale.things[thing]}.", _say_one_of(allowed))


def score_removal(
    scale: RemovalScale, thing: str, conditions: Iterable[str], tried: Iterable[str], holder: Holder
) -> Score:
    """The conditions counted, the sum of their points, its band, the next way and the cautions of a stuck thing.

    Words that the scale does not know (from another version of Teachest) are ignored.
    """
    done = frozenset(tried)
    seen = frozenset(conditions) | ({"heat-and-oil"} if done >= HEAT_AND_OIL else frozenset())
    counted = tuple(condition for condition in scale.conditions if condition.id in seen and thing in condition.things)
    total = sum(condition.points for condition in counted)
    answered = {condition.group for condition in counted}
    band = [band for band in scale.bands if band.least <= total][-1]
    ways = tuple(way for way in scale.ways if way.id in done)
    next_way = None if band.id in LEAVE_ALONE else _next_way(scale, thing, seen, done)
    hot = any(way.hot for way in (*ways, *([next_way] if next_way else [])))
    return Score(
        counted=counted,
        total=total,
        unsaid=tuple(group for group in EXCLUSIVE_GROUPS if group not in answered),
        band=band,
        tried=ways,
        next_way=next_way,
        dangers=tuple(danger for danger in scale.dangers if _applies(danger, holder, seen, hot)),
    )


def describe_score(what: str, score: Score) -> str:
    """``Exhaust stud: 7 points, outside help``; ``at least`` while a group has no answer."""
    least = "at least " if score.unsaid else ""
    points = "1 point" if score.total == 1 else f"{score.total} points"
    return f"{what}: {least}{points}, {score.band.label[:1].lower()}{score.band.label[1:]}"


def _next_way(scale: RemovalScale, thing: str, seen: frozenset[str], done: frozenset[str]) -> Way | None:
    """The first way that fits the thing and its end, has not been tried, and has nothing against it."""
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


def _say_one_of(allowed: Iterable[str]) -> str:
    return "Say one of: " + ", ".join(allowed) + "."
