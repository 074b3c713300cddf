"""The verdict on a part: every finding answered, how it was looked at weighed, the hardest answer taken."""

from __future__ import annotations

from collections.abc import Iterator

from survey.errors import BadValue
from survey.grading.facts import HARDNESS, UNKNOWN, Measured, PartFacts
from survey.grading.readings import joined, state_of
from survey.grading.rows import Row
from survey.grading.rulebook import Rulebook
from survey.model.grading import SEEN, STEPS, Ruling, Seen, Verdict
from survey.model.schedule import Duty

# A finding as the surveyor wrote it, or None where a reading alone speaks.
Written = tuple[str, int, Seen] | None

# A reading beyond its limit is step 3 of the finding it answers, whatever step was written by eye.
OVER_STEP = 3


def judge(rulebook: Rulebook, facts: PartFacts) -> Verdict:
    """The part's grade, or what is owed before it can have one, with every ruling, hardest first.

    The order in which findings, looks and readings are given makes no difference.
    Raises BadValue for a word or step the rulebook does not know.
    """
    return _Judgement(rulebook, facts).verdict()


class _Judgement:
    """One part before the rulebook."""

    def __init__(self, rulebook: Rulebook, facts: PartFacts) -> None:
        known = facts.component is not None
        self.book = rulebook
        self.facts = facts
        self.duty: Duty = facts.duty if known else "safety"
        self.part_class = facts.part_class if known else UNKNOWN
        self.material = facts.material if known else UNKNOWN
        self.fired: dict[tuple[str, Written], Row] = {}

    def verdict(self) -> Verdict:
        """Every ruling, hardest first, and where the hardest leads."""
        self._answer_findings()
        self._weigh_looks()
        self._weigh_whole()
        rulings = tuple(sorted((row.ruling(written) for (_, written), row in self.fired.items()), key=_order))
        outcome = rulings[0].outcome
        if outcome == "reuse" or outcome == "repair" or outcome == "replace":
            return Verdict(grade=outcome, waiting=None, rulings=rulings)
        return Verdict(grade=None, waiting=outcome, rulings=rulings)

    def _fire(self, row: Row, written: Written) -> None:
        self.fired[row.id, written] = row

    def _answer_findings(self) -> None:
        for written, kind, step, seen in self._findings():
            row = self.book.answer(
                kind, step, self._measured(kind), self.duty, self.part_class, self.material, self.facts.component
            )
            inputs = {"duty": self.duty, "speaks-of": self.book.words.subject(kind), "seen": seen, "first": row.then}
            not_well_seen = self.book.after("looking", inputs)
            if row.then != "reuse" or not not_well_seen:  # nobody can call mild what was not well seen
                self._fire(row, written)
            for extra in not_well_seen:
                self._fire(extra, written)

    def _findings(self) -> Iterator[tuple[Written, str, int, Seen]]:
        """Written findings at the step their readings make of them, then those that readings alone give rise to."""
        for kind, step, seen in self.facts.findings:
            if kind not in self.book.words.speaks_of or step not in STEPS or seen not in SEEN:
                raise BadValue(
                    f"The rules know no finding {kind!r} at step {step!r} seen {seen!r}.",
                    "See the list of findings and their four steps.",
                )
            over = self._measured(kind) == "over"
            yield (kind, step, seen), kind, max(step, OVER_STEP) if over else step, seen
        written = {kind for kind, _, _ in self.facts.findings}
        for kind in sorted(self._answered() - written):
            if self._measured(kind) == "over":
                yield None, kind, OVER_STEP, "bare"

    def _answered(self) -> set[str]:
        if not self.facts.readings:
            return set()
        return {kind for reading in self.book.readings_for(self.part_class) for kind in reading.answers}

    def _measured(self, kind: str) -> Measured:
        if not self.facts.readings:
            return "none"
        return self.book.measured(
            kind, self.part_class, self.facts.readings, self.facts.component, self.material, self.duty
        )

    def _weigh_looks(self) -> None:
        """The best look counts: having first looked through paint takes nothing from a later look at bare metal."""
        for look in self.facts.looks:
            if look not in SEEN:
                raise BadValue(f"{look!r} is no way of looking.", f"Say one of {', '.join(SEEN)}.")
        if self.facts.looks:
            best = min(self.facts.looks, key=SEEN.index)
            for row in self.book.after("looks", {"duty": self.duty, "class": self.part_class, "seen": best}):
                self._fire(row, None)

    def _weigh_whole(self) -> None:
        """What the part as a whole still owes, whatever its findings say."""
        outcomes = (row.then for row in self.fired.values())
        inputs = {
            "duty": self.duty,
            "class": self.part_class,
            "found": self._found(),
            "crack-test": self._measured("crack"),
            "measured": self._owed(),
            "first": max(outcomes, key=HARDNESS.__getitem__, default="not-looked-at"),
        }
        for row in self.book.after("whole", inputs):
            self._fire(row, None)

    def _found(self) -> str:
        """What is recorded of the part, in one of the words of FOUND."""
        seen = {self.book.words.subject(kind) for kind, _, how in self.facts.findings if how != "unseen"}
        if seen - {"finish", "dirt"} or any(how != "unseen" for how in self.facts.looks):
            return "substance"
        if any(self._measured(kind) == "over" for kind in self._answered()):
            return "substance"
        if seen:
            return "finish"
        return "unseen" if self.facts.findings or self.facts.looks else "nothing"

    def _owed(self) -> Measured:
        """The joined state of the readings that are owed on such a part even where nothing wrong was seen."""
        return joined(
            (state_of(kind, self.facts.readings, self.facts.component, self.material, self.duty), True)
            for kind in self.book.readings_for(self.part_class)
            if kind.owed
        )


def _order(ruling: Ruling) -> tuple[int, str, tuple[str, int, str]]:
    return -HARDNESS[ruling.outcome], ruling.rule, ruling.finding or ("", 0, "")
