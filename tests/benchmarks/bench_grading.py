"""How long it takes to read and prove the rules, and to grade ten thousand parts.

Run: ``python -m tests.benchmarks.bench_grading`` from the top of the repository.
"""

from __future__ import annotations

import random
import time

from survey.grading import PartFacts, Rulebook, judge
from survey.knowledge.catalogues import catalogues
from survey.knowledge.findings import finding_kinds
from survey.knowledge.rules import rulebook
from survey.model import SEEN, STEPS

PARTS = 10_000


def parts(count: int = PARTS, findings: int = 3, seed: int = 1957) -> list[PartFacts]:
    """Parts drawn from every catalogue, each with that many findings, some with readings; the same on every run."""
    dice = random.Random(seed)
    components = [one for kind in catalogues() for one in (*kind.components, *kind.extras)]
    kinds = [kind.id for kind in finding_kinds()]
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
        judge(book, part)
    return time.perf_counter() - start


def seconds_to_read() -> float:
    """Wall seconds to read and prove the rules; catalogues and findings are read beforehand."""
    catalogues()
    finding_kinds()
    rulebook.cache_clear()
    start = time.perf_counter()
    rulebook()
    return time.perf_counter() - start


def main() -> None:
    """Print the figures."""
    print(f"reading and proving {len(rulebook().rows)} rows: {1000 * seconds_to_read():.0f} ms")
    book = rulebook()
    drawn = parts()
    print(f"grading {PARTS} parts with three findings each, cold: {seconds_to_grade(book, drawn):.2f} s")
    print(f"the same again: {seconds_to_grade(book, drawn):.2f} s")


if __name__ == "__main__":
    main()
