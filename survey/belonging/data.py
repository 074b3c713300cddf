"""Reads the kinds of evidence that a part belongs from survey/data/belonging.toml and validates them."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from survey.belonging.weighing import ANSWERS, BelongingScale, Kind, Observation, Verdict
from survey.data_files import Closed, TomlFile, read_data_text
from survey.finding_kinds import load_finding_kinds

_FILE = "belonging.toml"


@lru_cache(maxsize=1)
def load_belonging_scale() -> BelongingScale:
    """Evidence, weights and answers. Raises BrokenKnowledge at a faulty file."""
    return parse_belonging_scale(read_data_text(_FILE), {kind.id for kind in load_finding_kinds()})


def parse_belonging_scale(text: str, findings: Iterable[str], name: str = _FILE) -> BelongingScale:
    """The scale in a TOML text, validated: known words only, every answer present, the sums in order."""
    file = TomlFile(name, text, ("look", "kind", "verdict"))
    looks = file.records("look", Observation)
    kinds = file.records("kind", Kind, {"look": Closed([look.id for look in looks], "is no observation")})
    _validate_kinds(file, kinds, set(findings))
    answers = [row.id for row in file.rows("verdict")]
    if tuple(answers) != ANSWERS:
        raise file.fault_of("the answers", "id", "they are " + (", ".join(answers) or "none"), ANSWERS)
    verdicts = {
        verdict.id: verdict for verdict in file.records("verdict", Verdict, cells={"least": "from", "most": "down_to"})
    }  # fmt: skip
    belongs, probably, another = verdicts["belongs"], verdicts["probably"], verdicts["another-machine"]
    sums = (belongs.least, probably.least, another.most)
    if None in sums or not sums[0] > sums[1] > 0 > sums[2]:  # type: ignore[operator]
        fault = "the sums do not fall from belongs to another machine"
        raise file.fault_of("belongs", "from", fault, ("belongs > probably > 0",))
    return BelongingScale(looks, {kind.id: kind for kind in kinds}, verdicts)


def _validate_kinds(file: TomlFile, kinds: Iterable[Kind], findings: set[str]) -> None:
    for kind in kinds:
        if kind.weight < 0 or (kind.weight == 0) != (kind.side == "period"):
            allowed = ("more than nought", "nought on the side period")
            raise file.fault_of(kind.id, "weight", f"{kind.weight}", allowed)
        if kind.finding and (kind.finding not in findings or kind.step not in (1, 2, 3, 4)):
            fault = f"there is no {kind.finding!r}, step {kind.step}"
            raise file.fault_of(kind.id, "finding", fault, sorted(findings))
        if kind.proves and (kind.word or kind.side != "for"):
            fault = "nobody's word proves, and nothing against does"
            raise file.fault_of(kind.id, "proves", fault, ("what was seen for it",))
