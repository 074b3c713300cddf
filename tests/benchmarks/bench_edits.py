"""How long one edit takes until it is safe on the disk, and a copy of the database: 5,000 photos, 1,000 parts.

Run: ``python -m tests.benchmarks.bench_edits`` from the top of the repository. Prints the median and the 95th
percentile of single edits, in a small survey and in a large one, and the time of a snapshot; exits with 1 when a
median is over the limit.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from survey.history.verbs import undo_act
from survey.parts.finding_verbs import add_finding
from survey.parts.verbs import add_part, change_part, list_parts
from survey.safekeeping.verbs import take_snapshot
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey
from tests.benchmarks.bench_pages import PARTS, PHOTOS, fill

EDITS = 200
LIMIT_MS = 30.0


def measured_ms(act: Callable[[int], object]) -> list[float]:
    """The milliseconds of each of so many edits."""
    taken = []
    for number in range(EDITS):
        begun = time.perf_counter()
        act(number)
        taken.append((time.perf_counter() - begun) * 1000)
    return taken


def edits(survey: Survey, part: int) -> dict[str, list[float]]:
    """The edits a person makes most, each on its own."""
    return {
        "a part recorded": measured_ms(lambda number: add_part(survey, "B052", label=f"lever {number}")),
        "a finding": measured_ms(lambda number: add_finding(survey, part, "bent", number % 4 + 1, note="bowed")),
        "a note changed": measured_ms(lambda number: change_part(survey, part, note=f"box {number}")),
        "taken back": measured_ms(lambda number: undo_act(survey)),
    }


def main() -> int:
    """Measure in a small survey and in a large one."""
    worst = 0.0
    for photos, parts in ((50, 10), (PHOTOS, PARTS)):
        with (
            tempfile.TemporaryDirectory() as room,
            make_survey(Path(room) / "heap", "lightweight", "Measured", by="Wren") as survey,
        ):
            fill(survey, photos, parts)
            list_parts(survey)
            for name, taken in edits(survey, 1).items():
                middle, high = statistics.median(taken), statistics.quantiles(taken, n=20)[-1]
                worst = max(worst, middle)
                print(f"{photos:5} photos {parts:5} parts  {name:16} median {middle:6.1f} ms  p95 {high:6.1f} ms")
            begun = time.perf_counter()
            size = take_snapshot(survey).stat().st_size
            print(f"{photos:5} photos {parts:5} parts  a snapshot of {size / 1e6:.1f} MB: "
                  f"{(time.perf_counter() - begun) * 1000:.0f} ms")  # fmt: skip
    return int(worst > LIMIT_MS)


if __name__ == "__main__":
    sys.exit(main())
