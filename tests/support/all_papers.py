"""Every file that leaves a survey for somebody else to read; a new paper wants a line here.

A backup is none: it holds the photos as they came, place and all, which docs/how-to/keep-it-safe.md says.
"""

from __future__ import annotations

import importlib
import inspect
from pathlib import Path

from house import is_verbs, modules

from survey.money.verbs import write_money_table
from survey.outwork.docket_verbs import write_docket
from survey.outwork.verbs import list_batches
from survey.report.copy_verbs import list_copies
from survey.report.verbs import write_report
from survey.safekeeping.verbs import export_survey
from survey.store.survey import Survey
from survey.wants.sheet_verbs import WANT_COPIES, write_wants_sheet

NO_PAPERS = {"back_up", "restore_backup"}
WRITERS = {"write_report", "write_wants_sheet", "write_money_table", "write_docket", "export_survey"}


def unlisted() -> set[str]:
    """Verbs that write somewhere and are named neither above nor below."""
    verbs = {
        name: verb
        for module in modules()
        if is_verbs(module.name)
        for name, verb in vars(importlib.import_module(module.name)).items()
        if name[0] != "_" and getattr(verb, "__module__", "") == module.name
    }
    writing = {
        name for name, verb in verbs.items() if inspect.isfunction(verb) and "to" in inspect.signature(verb).parameters
    }
    return writing ^ (WRITERS | NO_PAPERS)


def every_paper(survey: Survey, room: Path) -> list[Path]:
    """Write all of them, on each kind of paper and for each reader; the files."""
    assert unlisted() == set()
    room.mkdir()
    made = [
        write_report(survey, room / f"report {copy.word}{suffix}", copy=copy.word)
        for copy in list_copies()
        for suffix in (".pdf", ".html", ".csv", ".json")
    ]
    made += [write_wants_sheet(survey, room / f"wants {copy}.pdf", copy) for copy in WANT_COPIES]
    made.append(write_wants_sheet(survey, room / "wants.csv"))
    made.append(write_money_table(survey, room / "money.csv"))
    for batch in list_batches(survey):
        made += [
            write_docket(survey, batch.id, room / f"docket {batch.id} {full}{suffix}", full_numbers=full)
            for full in (False, True)
            for suffix in (".pdf", ".html")
        ]
    exported = export_survey(survey, room / "open").folder
    return [*made, *(path for path in exported.rglob("*") if path.is_file())]
