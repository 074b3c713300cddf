"""Trial fits of two parts, the spacers they ask for, and how far the loose build of each assembly has got."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from survey.errors import BadValue
from survey.fits.data import load_joints
from survey.fits.joints import (
    Joint,
    JointProgress,
    Progress,
    assess_joints,
    latest_of_pairs,
    list_expected_joints,
)
from survey.fits.joints import count_progress as progress_of
from survey.fits.records import fetch_fits
from survey.fits.spacers import Spacer, describe_spacer, make_spacer
from survey.machine.verbs import get_machine
from survey.model.fits import FIT_RESULTS, FIT_SIDES, FIT_WORDS, SIDE_WORDS, Fit, FitSide, Result
from survey.model.parts import GradedPart
from survey.model.verb import Verb
from survey.parts.verbs import PART_TABLES, list_parts
from survey.photos.verbs import link_photo
from survey.schedule.verbs import count_completeness, list_components, list_positions
from survey.store.row_words import describe_part_no
from survey.store.survey import Survey, in_one_transaction, put_row_aside, require_live_row
from survey.validation import validate_text
from survey.widths import parse_width
from survey.words import part_name

FIT_FIELDS = ("result", "side", "packed", "gap", "width", "note", "photos")
_TEXTS = ("packed", "gap", "width", "note")
_SIZES = ("gap", "width")
_OF_FITS = (*PART_TABLES, "machine", "position", "fit", "fit_photo")

ADD_FIT = Verb("add fit", "Trial fit recorded")
CHANGE_FIT = Verb("change fit", "Trial fit noted")
REMOVE_FIT = Verb("remove fit", "Trial fit put aside")
FIT_VERBS = (ADD_FIT, CHANGE_FIT, REMOVE_FIT)


@dataclass(frozen=True, slots=True)
class TrialFit:
    """A trial fit with its two parts. ``spacer``: what the two sizes leave, None where one is not written.

    ``counts``: it is the latest of this pair of parts.
    """

    said: Fit
    part: GradedPart
    other: GradedPart
    spacer: Spacer | None
    counts: bool = True

    @property
    def packs(self) -> bool:
        """Whether a packing stands there that a made spacer is to replace."""
        return self.counts and self.said.result == "packing"

    @property
    def fails(self) -> bool:
        """Whether the two do not go together, as things stand."""
        return self.counts and self.said.result == "does-not"


def list_joints(survey: Survey) -> tuple[JointProgress, ...]:
    """How every joint stands that is expected of the machine, those of the data first, then what sits inside what."""
    return survey.kept("joints", _OF_FITS, lambda: _joints(survey))


def list_progress(survey: Survey) -> tuple[Progress, ...]:
    """How far the loose build of each assembly has got, in the schedule's order."""
    return progress_of(count_completeness(survey), list_joints(survey))


def list_fits(survey: Survey, part_id: int | None = None) -> list[TrialFit]:
    """Every trial fit, or those that a part has to do with, the latest first."""
    recorded = survey.kept("fits", _OF_FITS, lambda: _fits(survey))
    return [one for one in recorded if part_id is None or part_id in one.said.pair]


def list_packings(survey: Survey) -> list[TrialFit]:
    """The packings that stand somewhere for now and are forgotten unless a made spacer replaces them."""
    return [one for one in list_fits(survey) if one.packs]


@in_one_transaction
def add_fit(
    survey: Survey,
    part_id: int,
    other_id: int,
    result: Result,
    *,
    side: FitSide = "",
    packed: str = "",
    gap: str = "",
    width: str = "",
    note: str = "",
    photos: Iterable[int] = (),
) -> Fit:
    """Record how one part went to another.

    Args:
        part_id: the part that takes the other; other_id: the one that was put to it.
        packed: what was between the two; side: on which side.
        gap, width: the first's size where it takes the other and the other's there ("112.4 mm ± 0.1 mm").

    Raises:
        NoSuchThing: no such part or photo.
        BadValue: a part and itself, an unknown word, or packing of which nobody says what it is.
        BadSize: a size that cannot be read.
    """
    for number in (part_id, other_id):
        require_live_row(survey, "part", number)
    if part_id == other_id:
        raise BadValue("A part does not go to itself.", "Name two different parts.")
    fields = {"result": result, "side": side, "packed": packed, "gap": gap, "width": width, "note": note}
    said, shown = _proved(fields, fields), _proved_photos(survey, photos)
    with survey.store.change(ADD_FIT, survey.by) as change:
        row = change.insert("fit", {"part": part_id, "other": other_id, **said, "by": survey.by, "at": change.at})
        for photo in shown:
            change.insert("fit_photo", {"fit": row["id"], "photo": photo})
            link_photo(change, part_id, photo)
            link_photo(change, other_id, photo)
    return _the(survey, row["id"])


@in_one_transaction
def change_fit(survey: Survey, fit_id: int, **fields: Any) -> Fit:
    """Say something else of a trial fit. Fields: ``FIT_FIELDS``; ``photos`` are all that show it from now on.

    Raises:
        NoSuchThing: no such trial fit or photo.
        BadValue, BadSize: as for ``add_fit``, or an unknown field.
    """
    require_live_row(survey, "fit", fit_id)
    before = _the(survey, fit_id)
    unknown = sorted(set(fields) - set(FIT_FIELDS))
    if unknown:
        raise BadValue(f"A trial fit has no {unknown[0]!r}.", "It has: " + ", ".join(FIT_FIELDS) + ".")
    shown = _proved_photos(survey, fields.pop("photos", before.photos))
    changes = _proved(fields, {name: fields.get(name, getattr(before, name)) for name in FIT_FIELDS})
    with survey.store.change(CHANGE_FIT, survey.by) as change:
        if changes:
            change.update("fit", [fit_id], {**changes, "by": survey.by, "at": change.at})
        for photo in [photo for photo in before.photos if photo not in shown]:
            change.remove("fit_photo", [fit_id, photo])
        for photo in [photo for photo in shown if photo not in before.photos]:
            change.insert("fit_photo", {"fit": fit_id, "photo": photo})
            link_photo(change, before.part, photo)
            link_photo(change, before.other, photo)
    return _the(survey, fit_id)


def remove_fit(survey: Survey, fit_id: int) -> None:
    """Put a trial fit aside that was recorded by mistake; the history keeps it."""
    put_row_aside(survey, "fit", fit_id, REMOVE_FIT)


def compute_spacer(gap: str, width: str, sides: int = 1) -> Spacer:
    """The spacer that fills a gap round a part, from the two lengths as they were written.

    Raises:
        BadSize: one of them is no length, or ``sides`` is neither 1 nor 2.
    """
    return make_spacer(parse_width(gap), parse_width(width), sides)


def describe_joint(one: TrialFit) -> str:
    """The two parts by name: ``Front wheel spindle to Fork slider``; with their numbers where the names are alike."""
    other, part = part_name(one.other), part_name(one.part)
    if other == part:
        return f"{other}, part {one.other.part.id} to part {one.part.part.id}"
    return f"{other} to {part}"


def describe_trial(one: TrialFit) -> str:
    """``Goes with packing: a tin washer, near side (left). A spacer of ...``."""
    said = one.said
    where = ", ".join(filter(None, (said.packed, SIDE_WORDS[said.side])))
    told = f"{FIT_WORDS[said.result]}{': ' + where if where else ''}."
    return f"{told} {describe_spacer(one.spacer)}" if one.spacer else told


def _the(survey: Survey, fit_id: int) -> Fit:
    return next(one for one in fetch_fits(survey.store) if one.id == fit_id)


def _proved(fields: Mapping[str, Any], now: Mapping[str, Any]) -> dict[str, Any]:
    """The fields to be written; ``now`` is how all of them will stand."""
    for name, allowed in (("result", FIT_RESULTS), ("side", FIT_SIDES)):
        if now[name] not in allowed:
            words = ", ".join(filter(None, allowed))
            raise BadValue(f"{now[name]!r} is nothing to say of the {name}.", f"Say one of: {words}.")
    said = {name: validate_text(name, value) if name in _TEXTS else value for name, value in fields.items()}
    for name in _SIZES:
        if said.get(name):
            parse_width(said[name])
    if now["result"] == "packing" and not str(now["packed"]).strip():
        raise BadValue(
            "Nobody said what the packing is.", "Say it in a few words, like: one 2 mm washer. What is not written down"
            " is forgotten, and pulls the frame.",
        )  # fmt: skip
    return said


def _proved_photos(survey: Survey, photos: Iterable[int]) -> list[int]:
    shown = list(dict.fromkeys(photos))
    for photo in shown:
        require_live_row(survey, "photo", photo)
    return shown


def _fits(survey: Survey) -> list[TrialFit]:
    recorded = fetch_fits(survey.store)
    graded = {one.part.id: one for one in list_parts(survey)}
    counting = {fit.id for fit in latest_of_pairs(recorded)}
    return [
        TrialFit(said, graded[said.part], graded[said.other], _spacer(said), said.id in counting)
        for said in reversed(recorded)
    ]


def _spacer(said: Fit) -> Spacer | None:
    return compute_spacer(said.gap, said.width, 2 if said.side == "both" else 1) if said.gap and said.width else None


def _joints(survey: Survey) -> tuple[JointProgress, ...]:
    components = list_components(survey)
    said: tuple[Joint, ...] = load_joints(get_machine(survey).kind)
    answering: defaultdict[str, list[int]] = defaultdict(list)
    for one in list_parts(survey):
        answering[one.part.component or ""].append(one.part.id)
    gone = (one.component.id for one in list_positions(survey) if one.state == "not-fitted")
    return assess_joints(components, list_expected_joints(components, said), answering, fetch_fits(survey.store), gone)


def describe_fit(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a trial fit's row is, in words."""
    row = rows[0]
    went = FIT_WORDS[row["result"]].lower()
    return f"{describe_part_no(survey, row['other'])} to {describe_part_no(survey, row['part'])}, {went}"
