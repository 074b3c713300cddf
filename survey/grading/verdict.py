"""The verdict on a part: every finding, every look and the part as a whole, and the hardest of their outcomes."""

from __future__ import annotations

from collections.abc import Iterator

from survey.errors import BadValue
from survey.grading.facts import HARDNESS, UNKNOWN, Measured, PartFacts
from survey.grading.readings import assess_reading, join_states
from survey.grading.rows import Row
from survey.grading.rulebook import Rulebook
from survey.model.grading import SEEN, STEPS, Ruling, Seen, Verdict
from survey.model.schedule import Duty

# A finding as the surveyor recorded it, or None if it comes from a reading alone.
Written = tuple[str, int, Seen] | None

# A reading beyond its limit makes its finding at least step 3, whatever step was recorded by eye.
OVER_STEP = 3


def judge_part(rulebook: Rulebook, facts: PartFacts) -> Verdict:
    """The part's grade, or what must be done before it can have one, with every ruling, hardest first.

    The order of findings, looks and readings makes no difference.
    Raises BadValue for a word or step the rulebook does not know.
    """
    return _Judgement(rulebook, facts).verdict()


class _Judgement:
    """The state of judging one part: the rows that have fired so far."""

    def __init__(self, rulebook: Rulebook, facts: PartFacts) -> None:
        is_known = facts.component is not None
        self.book = rulebook
        self.facts = facts
        self.duty: Duty = facts.duty if is_known else "safety"
        self.part_class = facts.part_class if is_known else UNKNOWN
        self.material = facts.material if is_known else UNKNOWN
        self.fired: dict[tuple[str, Written], Row] = {}

    def verdict(self) -> Verdict:
        """Every ruling, hardest first, and the outcome of the hardest."""
        self._apply_finding_rules()
        self._apply_look_rules()
        self._apply_whole_rules()
        rulings = tuple(sorted((row.ruling(written) for (_, written), row in self.fired.items()), key=_sort_key))
        outcome = rulings[0].outcome
        if outcome == "reuse" or outcome == "repair" or outcome == "replace":
            return Verdict(grade=outcome, waiting=None, rulings=rulings)
        return Verdict(grade=None, waiting=outcome, rulings=rulings)

    def _fire(self, row: Row, written: Written) -> None:
        self.fired[row.id, written] = row

    def _apply_finding_rules(self) -> None:
        for written, kind, step, seen in self._list_findings():
            row = self.book.answer(
                kind, step, self._measured(kind), self.duty, self.part_class, self.material, self.facts.component
            )
            inputs = {"duty": self.duty, "speaks-of": self.book.words.subject(kind), "seen": seen, "first": row.then}
            not_well_seen = self.book.after("looking", inputs)
            if row.then != "reuse" or not not_well_seen:  # what was not well seen cannot be called mild
                self._fire(row, written)
            for extra in not_well_seen:
                self._fire(extra, written)

    def _list_findings(self) -> Iterator[tuple[Written, str, int, Seen]]:
        """Recorded findings at the step their readings give, then findings that come from readings alone."""
        for kind, step, seen in self.facts.findings:
            if kind not in self.book.words.speaks_of or step not in STEPS or seen not in SEEN:
                raise BadValue(
                    f"The rules know no finding {kind!r} at step {step!r} seen {seen!r}.",
                    "See the list of findings and their four steps.",
                )
            over = self._measured(kind) == "over"
            yield (kind, step, seen), kind, max(step, OVER_STEP) if over else step, seen
        written = {kind for kind, _, _ in self.facts.findings}
        for kind in sorted(self._list_answered_kinds() - written):
            if self._measured(kind) == "over":
                yield None, kind, OVER_STEP, "bare"

    def _list_answered_kinds(self) -> set[str]:
        if not self.facts.readings:
            return set()
        return {kind for reading in self.book.readings_for(self.part_class) for kind in reading.answers}

    def _measured(self, kind: str) -> Measured:
        if not self.facts.readings:
            return "none"
        return self.book.measured(
            kind, self.part_class, self.facts.readings, self.facts.component, self.material, self.duty
        )

    def _apply_look_rules(self) -> None:
        """Only the best look counts: an earlier look through paint does not weaken a look at bare metal."""
        for look in self.facts.looks:
            if look not in SEEN:
                raise BadValue(f"{look!r} is no way of looking.", f"Say one of {', '.join(SEEN)}.")
        if self.facts.looks:
            best = min(self.facts.looks, key=SEEN.index)
            for row in self.book.after("looks", {"duty": self.duty, "class": self.part_class, "seen": best}):
                self._fire(row, None)

    def _apply_whole_rules(self) -> None:
        """Apply the rules for the part as a whole, whatever its findings."""
        outcomes = (row.then for row in self.fired.values())
        inputs = {
            "duty": self.duty,
            "class": self.part_class,
            "found": self._describe_recorded(),
            "crack-test": self._measured("crack"),
            "measured": self._measure_owed(),
            "first": max(outcomes, key=HARDNESS.__getitem__, default="not-looked-at"),
        }
        for row in self.book.after("whole", inputs):
            self._fire(row, None)

    def _describe_recorded(self) -> str:
        """What is recorded of the part: one of the words of FOUND."""
        seen = {self.book.words.subject(kind) for kind, _, how in self.facts.findings if how != "unseen"}
        if seen - {"finish", "dirt"} or any(how != "unseen" for how in self.facts.looks):
            return "substance"
        if any(self._measured(kind) == "over" for kind in self._list_answered_kinds()):
            return "substance"
        if seen:
            return "finish"
        return "unseen" if self.facts.findings or self.facts.looks else "nothing"

    def _measure_owed(self) -> Measured:
        """The joint state of the readings that such a part needs even if nothing wrong was seen."""
        return join_states(
            (assess_reading(kind, self.facts.readings, self.facts.component, self.material, self.duty), True)
            for kind in self.book.readings_for(self.part_class)
            if kind.owed
        )


def _sort_key(ruling: Ruling) -> tuple[int, str, tuple[str, int, str]]:
    return -HARDNESS[ruling.outcome], ruling.rule, ruling.finding or ("", 0, "")
