"""Placing many photos: what one likely shows, several at once, where things are, and finding a photo again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from survey.errors import BadValue
from survey.model.parts import GradedPart
from survey.model.photos import Photo
from survey.model.schedule import Component
from survey.model.verb import Verb
from survey.parts.verbs import list_parts
from survey.photos.runs import split_into_runs
from survey.photos.verbs import PLACE_PHOTO, get_photo, link_photo, list_photos
from survey.placing.likely import find_near_parts, rank_likely_components, rank_main_components
from survey.schedule.verbs import list_components, list_positions
from survey.store.survey import Survey, require_live_row
from survey.validation import validate_text

MOST_PARTS, MOST_COMPONENTS, MOST_MAIN = 4, 8, 24

PUT_IN_BOX = Verb("put in box", "Put in its place")


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What a photo may show: parts that are recorded, positions still open near them, and open main pieces.

    Each likeliest first; ``main`` names none that ``components`` names.
    """

    parts: tuple[GradedPart, ...]
    components: tuple[Component, ...]
    main: tuple[Component, ...]


@dataclass(frozen=True, slots=True)
class Box:
    """A place where things are, in the owner's words, and how much is there."""

    name: str
    photos: int
    parts: int


def suggest_parts(survey: Survey, photo_id: int) -> Suggestion:
    """What the photo likely shows, judged by its capture run, its box and its neighbours.

    Raises:
        NoSuchThing: no such photo.
    """
    photo, ordered = get_photo(survey, photo_id), list_photos(survey)
    run = next((run for run in split_into_runs(ordered) if any(other.id == photo_id for other in run)), [])
    graded = {other.part.id: other for other in list_parts(survey)}
    near = find_near_parts(photo, ordered, run, (other.part for other in graded.values()))
    shown_components = [component for number in (*photo.parts, *near) if (component := graded[number].part.component)]
    short = {position.component.id: position.component.quantity - position.found for position in list_positions(survey)}
    components = list_components(survey)
    positions = rank_likely_components(components, list(dict.fromkeys(shown_components)), short, MOST_COMPONENTS)
    main = [
        piece
        for piece in rank_main_components(components, short, MOST_MAIN + MOST_COMPONENTS)
        if piece not in positions
    ]
    return Suggestion(tuple(graded[number] for number in near[:MOST_PARTS]), tuple(positions), tuple(main[:MOST_MAIN]))


def list_unfilled_components(survey: Survey) -> list[Component]:
    """The positions that no part fills yet, in the schedule's order; those not fitted to this machine are left out."""
    return [
        position.component
        for position in list_positions(survey)
        if position.state != "not-fitted" and position.found < position.component.quantity
    ]


def place_photos(survey: Survey, photo_ids: Iterable[int], part_id: int) -> list[Photo]:
    """Record of several photos that they all show the part, as one act.

    Raises:
        NoSuchThing: no such photo or part; then none is placed.
        BadValue: no photo was named.
    """
    ids = _require_photos(survey, photo_ids)
    require_live_row(survey, "part", part_id)
    with survey.store.change(PLACE_PHOTO, survey.by) as change:
        for photo_id in ids:
            link_photo(change, part_id, photo_id)
    return [get_photo(survey, photo_id) for photo_id in ids]


def set_box(survey: Survey, box: str, *, photo_ids: Iterable[int] = (), part_ids: Iterable[int] = ()) -> None:
    """Record where photos were unpacked from, or where parts lie, as one act; an empty box takes it back.

    Raises:
        NoSuchThing: no such photo or part; then nothing is changed.
    """
    rows = [("photo", number) for number in photo_ids] + [("part", number) for number in part_ids]
    for table, number in rows:
        require_live_row(survey, table, number)
    name = validate_text("box", box)
    with survey.store.change(PUT_IN_BOX, survey.by) as change:
        for table, number in rows:
            change.update(table, [number], {"box": name})


def list_boxes(survey: Survey) -> list[Box]:
    """Every place that was named, in the order of the alphabet with figures by size ("box 2" before "box 10")."""
    seen: dict[str, list[int]] = {}
    for place, name in [(0, one.box) for one in list_photos(survey)] + [
        (1, one.part.box) for one in list_parts(survey)
    ]:
        if name:
            seen.setdefault(name, [0, 0])[place] += 1
    return [Box(name, *seen[name]) for name in sorted(seen, key=_sort_key)]


def find_photos(
    survey: Survey,
    words: str = "",
    *,
    component: str | None = None,
    box: str = "",
    finding: str | None = None,
    since: str = "",
    until: str = "",
) -> list[Photo]:
    """Photos that match all filters, in order.

    Args:
        words: each must stand in the photo's note, name or box, or in the name, other names, note, box or finding
            notes of a part it shows.
        component: shows a part that answers to this position, or to one inside it.
        finding: shows a part with this kind of finding.
        since, until: days ``YYYY-MM-DD``, both included; photos without a time match neither.
    """
    wanted = words.casefold().split()
    graded = {photo.part.id: photo for photo in list_parts(survey)}
    under = _ids_inside(list_components(survey), component) if component else set()
    return [
        photo
        for photo in list_photos(survey)
        if (not box or box == photo.box)
        and (not since or (photo.taken or "") >= since)
        and (not until or (photo.taken is not None and photo.taken[:10] <= until))
        and (not under or any(graded[number].part.component in under for number in photo.parts))
        and (not finding or any(found.kind == finding for number in photo.parts for found in graded[number].findings))
        and (not wanted or _holds_all(_searchable_text(photo, graded), wanted))
    ]


def _require_photos(survey: Survey, photo_ids: Iterable[int]) -> list[int]:
    ids = list(dict.fromkeys(photo_ids))
    if not ids:
        raise BadValue("No photo was chosen.", "Choose one or more, and say again what they show.")
    for photo_id in ids:
        require_live_row(survey, "photo", photo_id)
    return ids


def _ids_inside(positions: Iterable[Component], component: str) -> set[str]:
    inside, components = {component}, list(positions)
    while more := {one.id for one in components if one.inside in inside} - inside:
        inside |= more
    return inside


def _searchable_text(photo: Photo, graded: dict[int, GradedPart]) -> str:
    texts = [photo.note, photo.name, photo.box]
    for number in photo.parts:
        part = graded[number]
        texts += [part.part.label, part.part.note, part.part.box]
        texts += [part.component.label, *part.component.names, part.component.assembly] if part.component else []
        texts += [finding.note for finding in part.findings] + [look.note for look in part.looks]
    return " ".join(texts).casefold()


def _holds_all(text: str, wanted: Iterable[str]) -> bool:
    return all(word in text for word in wanted)


def _sort_key(name: str) -> list[tuple[int, str]]:
    """Sorts "box 2" before "box 10"."""
    return [(int(word), "") if word.isascii() and word.isdigit() else (0, word.casefold()) for word in name.split()]
