"""How fast the pages of a large survey are answered: 5,000 photos, 1,000 parts, two findings each.

Run: ``python -m tests.benchmarks.bench_pages`` from the top of the repository. Prints for every page the median and
the 95th percentile of the server's own time, with nothing changed and right after an edit, and exits with 1 when a
95th percentile is over the limit. Pictures are not made: they are files, answered by number.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import tempfile
import time
from pathlib import Path

from flask.testing import FlaskClient

from survey.model.verb import Verb
from survey.parts.finding_verbs import add_finding, list_finding_kinds
from survey.schedule.verbs import list_components
from survey.shelf.verbs import make_survey
from survey.store.database import Change
from survey.store.survey import Survey
from web.app import create_app

PHOTOS, PARTS = 5_000, 1_000
LIMIT_MS = 100.0
ORIGIN = "http://localhost"
PAGES = (
    "/", "/photos/", "/photos/?page=7", "/photos/?show=waiting", "/photos/2500", "/parts/", "/parts/?q=hub",
    "/parts/?grade=replace", "/parts/500", "/parts/500/find?photo=2500", "/gaps/", "/report/", "/rules/", "/machine",
    "/photos/add", "/boxes/", "/plan/", "/plan/order", "/plan/belongs", "/plan/fits/", "/plan/wants/", "/plan/outwork/",
    "/plan/money/", "/plan/gates/",
)  # fmt: skip


def fill(survey: Survey, photos: int = PHOTOS, parts: int = PARTS) -> None:
    """Write that many photos, parts and findings straight into the survey."""
    components = [one.id for one in list_components(survey)]
    kinds = [kind.id for kind in list_finding_kinds()]
    with survey.store.change(Verb("fill", "Filled"), "Wren") as change:
        for number in range(photos):
            change.insert("photo", _photo(number))
        for number in range(1, parts + 1):
            _part(change, number, components, kinds, photos // parts)


def _photo(number: int) -> dict[str, object]:
    minute, day = number % 1440, number // 1440
    return {
        "sha256": f"{number:064x}", "name": f"IMG_{number:05}.jpg", "format": "jpeg", "width": 4000, "height": 3000,
        "bytes": 3_400_000, "path": f"originals/00/{number:064x}.jpg", "pixel_hash": f"{number:032x}",
        "taken": f"2026-06-{10 + day:02}T{minute // 60:02}:{minute % 60:02}:30", "taken_from": "original",
        "added_at": "2026-06-20T08:00:00Z", "box": f"box {number % 7}",
    }  # fmt: skip


def _part(change: Change, number: int, components: list[str], kinds: list[str], each: int) -> None:
    component = components[number % len(components)]
    row = change.insert("part", {"component": component, "box": f"box {number % 7}", "added_at": change.at})
    shown = range((number - 1) * each + 1, number * each - 1)
    for photo in shown:
        change.insert("part_photo", {"part": row["id"], "photo": photo})
    for offset in (0, 1):
        found = {"part": row["id"], "kind": kinds[(number + offset) % len(kinds)], "step": 1 + number % 4}
        finding = change.insert("finding", {**found, "seen": "bare", "at": change.at, "by": "Wren"})
        change.insert("finding_photo", {"finding": finding["id"], "photo": shown[offset]})
        points = json.dumps([[0.4, 0.4]])
        change.insert(
            "mark",
            {"photo": shown[offset], "part": row["id"], "finding": finding["id"], "shape": "pin", "points": points},
        )


def seconds(client: FlaskClient, page: str) -> float:
    """How long the page took; the program ends where it is not answered."""
    start = time.perf_counter()
    answer = client.get(page, base_url=ORIGIN)
    took = time.perf_counter() - start
    if answer.status_code != 200:
        sys.exit(f"{page}: {answer.status}")
    return took


def told(page: str, plain: list[float], after: list[float]) -> bool:
    """Print one page's figures; whether it is over the limit."""
    high_ms = [1000 * statistics.quantiles(times, n=20)[-1] for times in (plain, after)]
    middle_ms = [1000 * statistics.median(times) for times in (plain, after)]
    print(
        f"{page:28} median {middle_ms[0]:6.1f} ms  95 % {high_ms[0]:6.1f} ms   "
        f"right after an edit: median {middle_ms[1]:6.1f} ms  95 % {high_ms[1]:6.1f} ms"
    )
    return max(high_ms) > LIMIT_MS


def main() -> int:
    """Print the times; 1 when a page is over the limit."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=20)
    rounds = parser.parse_args().rounds
    with tempfile.TemporaryDirectory() as room:
        folder = Path(room) / "heap"
        with make_survey(folder, "lightweight", "Haldane-Pike Ferryman") as survey:
            fill(survey)
        app = create_app(folder)
        client, slow = app.test_client(), 0
        for page in PAGES:
            seconds(client, page)  # the first time everything is read and graded
            plain = [seconds(client, page) for _ in range(rounds)]
            after = []
            for number in range(rounds):
                add_finding(app.extensions["survey"], 1 + number, "dent", 2, photo=1 + number)
                after.append(seconds(client, page))
            slow += told(page, plain, after)
    return int(slow > 0)


if __name__ == "__main__":
    sys.exit(main())
