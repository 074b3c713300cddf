"""Every file that leaves a survey for somebody else to read; a new paper wants a line here.

A backup is none: it holds the photos as they came, place and all, which docs/how-to/keep-it-safe.md says.
"""

from __future__ import annotations

import inspect
from pathlib import Path

from survey import bench

NO_PAPERS = {"backup", "restore"}
WRITERS = {"report", "wants_paper", "money_table", "docket", "export"}


def unlisted() -> set[str]:
    """Verbs that write somewhere and are named neither above nor below."""
    verbs = {name: getattr(bench, name) for name in bench.__all__}
    writing = {
        name for name, verb in verbs.items() if inspect.isfunction(verb) and "to" in inspect.signature(verb).parameters
    }
    return writing ^ (WRITERS | NO_PAPERS)


def every_paper(survey: bench.Survey, room: Path) -> list[Path]:
    """Write all of them, on each kind of paper and for each reader; the files."""
    assert unlisted() == set()
    room.mkdir()
    made = [
        bench.report(survey, room / f"report {copy.word}{suffix}", copy=copy.word)
        for copy in bench.copies()
        for suffix in (".pdf", ".html", ".csv", ".json")
    ]
    made += [bench.wants_paper(survey, room / f"wants {copy}.pdf", copy) for copy in bench.WANT_COPIES]
    made.append(bench.wants_paper(survey, room / "wants.csv"))
    made.append(bench.money_table(survey, room / "money.csv"))
    for batch in bench.batches(survey):
        made += [
            bench.docket(survey, batch.id, room / f"docket {batch.id} {full}{suffix}", full_numbers=full)
            for full in (False, True)
            for suffix in (".pdf", ".html")
        ]
    exported = bench.export(survey, room / "open").folder
    return [*made, *(path for path in exported.rglob("*") if path.is_file())]
