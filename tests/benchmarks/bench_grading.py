"""How long it takes to read and prove the rules, and to grade ten thousand parts.

Run: ``python -m tests.benchmarks.bench_grading`` from the top of the repository.
"""

from __future__ import annotations

import random
import time

from survey.finding_kinds import load_finding_kinds
from survey.grading.data import load_rulebook
from survey.grading.facts import PartFacts
from survey.grading.rulebook import Rulebook
from survey.grading.verdict import judge_part
from survey.model.grading import SEEN, STEPS
from survey.schedule.data import load_catalogues

PARTS = 10_000


def parts(count: int = PARTS, findings: int = 3, seed: int = 1957) -> list[PartFacts]:
    """Parts drawn from every catalogue, each with that many findings, some with readings; the same on every run."""
    dice = random.Random(seed)
    components = [one for kind in load_catalogues() for one in (*kind.components, *kind.extras)]
    kinds = [kind.id for kind in load_finding_kinds()]
    drawn = []
    for _ in range(count):
        one = dice.choice(components)
        found = tuple((dice.choice(kinds), dice.choice(STEPS), dice.choice(SEEN)) for _ in range(findings))
        values = {"crack-test": 0.0, "rim-lateral": dice.uniform(0, 6), "chain-stretch": dice.uniform(0, 4)}
        readings = values if dice.random() < 0.3 else {}
        drawn.append(PartFacts(one.id, one.duty, one.part_class, one.material, found, ("bare",), readings))
    return drawn


def seconds_to_grade(book: Rulebook, drawn: list[PartFacts]) -> float:
    """Wall seconds to judge them all."""
    start = time.perf_counter()
    for part in drawn:
        judge_part(book, part)
    return time.perf_counter() - start


def seconds_to_read() -> float:
    """Wall seconds to read and prove the rules; catalogues and findings are read beforehand."""
    load_catalogues()
    load_finding_kinds()
    load_rulebook.cache_clear()
    start = time.perf_counter()
    load_rulebook()
    return time.perf_counter() - start


def main() -> None:
    """Print the figures."""
    print(f"reading and proving {len(load_rulebook().rows)} rows: {1000 * seconds_to_read():.0f} ms")
    book = load_rulebook()
    drawn = parts()
    print(f"grading {PARTS} parts with three findings each, cold: {seconds_to_grade(book, drawn):.2f} s")
    print(f"the same again: {seconds_to_grade(book, drawn):.2f} s")


if __name__ == "__main__":
    main()
