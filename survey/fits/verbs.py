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
    count_progress,
    list_expected_joints,
    select_latest_fits,
)
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
from survey.words import format_part_name

FIT_FIELDS = ("result", "side", "packed", "gap", "width", "note", "photos")
_TEXTS = ("packed", "gap", "width", "note")
_SIZES = ("gap", "width")
_FITS_TABLES = (*PART_TABLES, "machine", "position", "fit", "fit_photo")

ADD_FIT = Verb("add fit", "Trial fit recorded")
CHANGE_FIT = Verb("change fit", "Trial fit noted")
REMOVE_FIT = Verb("remove fit", "Trial fit put aside")
FIT_VERBS = (ADD_FIT, CHANGE_FIT, REMOVE_FIT)


@dataclass(frozen=True, slots=True)
class TrialFit:
    """A trial fit with its two parts. ``spacer``: computed from its two sizes, None if one is not written.

    ``counts``: whether it is the latest of its pair of parts.
    """

    said: Fit
    part: GradedPart
    other: GradedPart
    spacer: Spacer | None
    counts: bool = True

    @property
    def packs(self) -> bool:
        """Whether there is a packing now that a made spacer should replace."""
        return self.counts and self.said.result == "packing"

    @property
    def fails(self) -> bool:
        """Whether the two parts do not go together now."""
        return self.counts and self.said.result == "does-not"


def list_joints(survey: Survey) -> tuple[JointProgress, ...]:
    """The state of every joint expected of the machine: those of the data, then every component inside another."""
    return survey.kept("joints", _FITS_TABLES, lambda: _make_joints(survey))


def list_progress(survey: Survey) -> tuple[Progress, ...]:
    """How far the loose build of each assembly has got, in the schedule's order."""
    return count_progress(count_completeness(survey), list_joints(survey))


def list_fits(survey: Survey, part_id: int | None = None) -> list[TrialFit]:
    """Every trial fit, or those of one part, the latest first."""
    recorded = survey.kept("fits", _FITS_TABLES, lambda: _make_fits(survey))
    return [fit for fit in recorded if part_id is None or part_id in fit.said.pair]


def list_packings(survey: Survey) -> list[TrialFit]:
    """The trial fits with a packing, which is forgotten unless a made spacer replaces it."""
    return [fit for fit in list_fits(survey) if fit.packs]


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
    """Record how two parts went together.

    Args:
        part_id: the part that takes the other; other_id: the part that goes into it.
        packed: the packing between the two; side: on which side.
        gap, width: the size of the first where it takes the other, and of the other there ("112.4 mm ± 0.1 mm").

    Raises:
        NoSuchThing: no such part or photo.
        BadValue: twice the same part, an unknown word, or a packing that is not described.
        BadSize: a size that cannot be read.
    """
    for number in (part_id, other_id):
        require_live_row(survey, "part", number)
    if part_id == other_id:
        raise BadValue("A part does not go to itself.", "Name two different parts.")
    fields = {"result": result, "side": side, "packed": packed, "gap": gap, "width": width, "note": note}
    values, photo_ids = _validate_fields(fields, fields), _require_photos(survey, photos)
    with survey.store.change(ADD_FIT, survey.by) as change:
        row = change.insert("fit", {"part": part_id, "other": other_id, **values, "by": survey.by, "at": change.at})
        for photo in photo_ids:
            change.insert("fit_photo", {"fit": row["id"], "photo": photo})
            link_photo(change, part_id, photo)
            link_photo(change, other_id, photo)
    return _get_fit(survey, row["id"])


@in_one_transaction
def change_fit(survey: Survey, fit_id: int, **fields: Any) -> Fit:
    """Change fields of a trial fit. Fields: ``FIT_FIELDS``; ``photos`` replaces all photos that show it.

    Raises:
        NoSuchThing: no such trial fit or photo.
        BadValue, BadSize: as for ``add_fit``, or an unknown field.
    """
    require_live_row(survey, "fit", fit_id)
    before = _get_fit(survey, fit_id)
    unknown = sorted(set(fields) - set(FIT_FIELDS))
    if unknown:
        raise BadValue(f"A trial fit has no {unknown[0]!r}.", "It has: " + ", ".join(FIT_FIELDS) + ".")
    photo_ids = _require_photos(survey, fields.pop("photos", before.photos))
    changes = _validate_fields(fields, {name: fields.get(name, getattr(before, name)) for name in FIT_FIELDS})
    with survey.store.change(CHANGE_FIT, survey.by) as change:
        if changes:
            change.update("fit", [fit_id], {**changes, "by": survey.by, "at": change.at})
        for photo in [photo for photo in before.photos if photo not in photo_ids]:
            change.remove("fit_photo", [fit_id, photo])
        for photo in [photo for photo in photo_ids if photo not in before.photos]:
            change.insert("fit_photo", {"fit": fit_id, "photo": photo})
            link_photo(change, before.part, photo)
            link_photo(change, before.other, photo)
    return _get_fit(survey, fit_id)


def remove_fit(survey: Survey, fit_id: int) -> None:
    """Put a trial fit aside that was recorded by mistake; the history keeps it."""
    put_row_aside(survey, "fit", fit_id, REMOVE_FIT)


def compute_spacer(gap: str, width: str, sides: int = 1) -> Spacer:
    """The spacer that fills a gap round a part, from the two lengths as written.

    Raises:
        BadSize: one of them is no length, or ``sides`` is neither 1 nor 2.
    """
    return make_spacer(parse_width(gap), parse_width(width), sides)


def describe_joint(trial: TrialFit) -> str:
    """The two parts by name: ``Front wheel spindle to Fork slider``; with their numbers if the names are alike."""
    other_name, name = format_part_name(trial.other), format_part_name(trial.part)
    if other_name == name:
        return f"{other_name}, part {trial.other.part.id} to part {trial.part.part.id}"
    return f"{other_name} to {name}"


def describe_trial(trial: TrialFit) -> str:
    """``Goes with packing: a tin washer, near side (left). A spacer of ...``."""
    fit = trial.said
    where = ", ".join(filter(None, (fit.packed, SIDE_WORDS[fit.side])))
    result = f"{FIT_WORDS[fit.result]}{': ' + where if where else ''}."
    return f"{result} {describe_spacer(trial.spacer)}" if trial.spacer else result


def _get_fit(survey: Survey, fit_id: int) -> Fit:
    return next(fit for fit in fetch_fits(survey.store) if fit.id == fit_id)


def _validate_fields(fields: Mapping[str, Any], now: Mapping[str, Any]) -> dict[str, Any]:
    """Validate the fields to write; ``now`` has the values of all fields after the change."""
    for name, allowed in (("result", FIT_RESULTS), ("side", FIT_SIDES)):
        if now[name] not in allowed:
            words = ", ".join(filter(None, allowed))
            raise BadValue(f"{now[name]!r} is nothing to say of the {name}.", f"Say one of: {words}.")
    values = {name: validate_text(name, value) if name in _TEXTS else value for name, value in fields.items()}
    for name in _SIZES:
        if values.get(name):
            parse_width(values[name])
    if now["result"] == "packing" and not str(now["packed"]).strip():
        raise BadValue(
            "Nobody said what the packing is.", "Say it in a few words, like: one 2 mm washer. What is not written down"
            " is forgotten, and pulls the frame.",
        )  # fmt: skip
    return values


def _require_photos(survey: Survey, photos: Iterable[int]) -> list[int]:
    photo_ids = list(dict.fromkeys(photos))
    for photo in photo_ids:
        require_live_row(survey, "photo", photo)
    return photo_ids


def _make_fits(survey: Survey) -> list[TrialFit]:
    recorded = fetch_fits(survey.store)
    graded = {graded_part.part.id: graded_part for graded_part in list_parts(survey)}
    counting = {fit.id for fit in select_latest_fits(recorded)}
    return [
        TrialFit(fit, graded[fit.part], graded[fit.other], _compute_fit_spacer(fit), fit.id in counting)
        for fit in reversed(recorded)
    ]


def _compute_fit_spacer(fit: Fit) -> Spacer | None:
    return compute_spacer(fit.gap, fit.width, 2 if fit.side == "both" else 1) if fit.gap and fit.width else None


def _make_joints(survey: Survey) -> tuple[JointProgress, ...]:
    components = list_components(survey)
    joints: tuple[Joint, ...] = load_joints(get_machine(survey).kind)
    answering: defaultdict[str, list[int]] = defaultdict(list)
    for part in list_parts(survey):
        answering[part.part.component or ""].append(part.part.id)
    gone = (position.component.id for position in list_positions(survey) if position.state == "not-fitted")
    return assess_joints(
        components, list_expected_joints(components, joints), answering, fetch_fits(survey.store), gone
    )


def describe_fit(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a trial fit's row is, in words."""
    row = rows[0]
    went = FIT_WORDS[row["result"]].lower()
    return f"{describe_part_no(survey, row['other'])} to {describe_part_no(survey, row['part'])}, {went}"
