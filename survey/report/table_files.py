"""The report as CSV, for a spreadsheet: a line a part, a line a gap, and lines about the record itself."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from survey.document.csv_text import csv_text
from survey.document.files import write_whole
from survey.document.sheet_rows import section_rows
from survey.report.contents_printed import GapLine, PartEntry, ReportData

COLUMNS = (
    "row",
    "part",
    "component",
    "label",
    "assembly",
    "duty",
    "state",
    "grade",
    "waiting",
    "own_grade",
    "own_reason",
    "in_hand",
    "wanted",
    "inside",
    "box",
    "findings",
    "looks",
    "readings",
    "stuck",
    "because",
    "remedy",
    "caution",
    "rules",
    "sources",
    "sure",
    "disputed",
    "gaps_inside",
    "photos",
    "note",
)
"""Column names. ``row``: ``part``, ``gap``, ``not-fitted``, ``next``, ``step``, ``block``, ``plan`` (with the key of
its section in ``state``), ``caution`` or ``about``."""


def write_csv(data: ReportData, to: Path) -> None:
    """Write the report as CSV (RFC 4180: CRLF, quoting; UTF-8). No cell can be taken for a formula.

    Raises:
        CannotWrite: the place cannot be written.
    """
    write_whole(to, csv_text(COLUMNS, _rows(data)).encode("utf-8"))


def _rows(data: ReportData) -> Iterator[dict[str, str]]:
    for part in data.parts:
        yield _part_row(part)
    for gap in data.gaps:
        yield _gap_row(gap)
    for label in data.not_looked.not_fitted:
        yield {"row": "not-fitted", "label": label}
    for line in data.next:
        yield {"row": "next", "label": " ".join(filter(None, (line.head, line.text))), "caution": line.aside}
    for step in data.order.steps:
        after = "after " + ", ".join(map(str, step.after)) if step.after else ""
        waits = f"waits for {step.waits}" if step.waits else ""
        yield {
            "row": "step", "component": step.step, "label": f"{step.number}. {step.label}", "state": step.word,
            "note": "; ".join(filter(None, (after, waits))), "caution": step.caution,
        }  # fmt: skip
    for block in data.order.blocks:
        yield {
            "row": "block", "component": block.component, "label": block.label, "duty": block.duty,
            "state": block.word, "note": block.arithmetic,
        }  # fmt: skip
    for key, _, name, text, aside in section_rows(data.plan):
        yield {"row": "plan", "state": key, "label": name, "note": "; ".join(filter(None, (text, aside)))}
    for caution in data.cautions:
        yield {"row": "caution", "label": caution.title, "caution": caution.text, "sources": caution.source}
    for label, note in _about(data):
        yield {"row": "about", "label": label, "note": note}


def _part_row(part: PartEntry) -> dict[str, str]:
    own = part.own_grade
    rulings = part.rulings
    findings = [
        f"{f.number}. {f.label}: {f.step_name}, {f.how_seen}" + (f" ({f.note})" if f.note else "")
        for f in part.findings
    ]
    return {
        "row": "part",
        "part": str(part.id),
        "component": part.component or "",
        "label": part.called or part.label,
        "assembly": part.assembly,
        "duty": part.duty,
        "grade": part.grade or "",
        "waiting": part.waiting or "",
        "own_grade": own.grade if own else "",
        "own_reason": own.reason if own else "",
        "in_hand": str(part.quantity),
        "wanted": str(part.wanted) if part.wanted else "",
        "inside": part.inside,
        "box": part.box,
        "findings": "; ".join(findings),
        "looks": "; ".join(f"nothing wrong seen, {look.how_seen}" for look in part.looks),
        "readings": "; ".join(f"{reading.name} {reading.written}" for reading in part.readings),
        "stuck": " | ".join(f"{one.head}. {one.text} {one.caution}".strip() for one in part.stuck),
        "because": " | ".join(ruling.because for ruling in rulings),
        "remedy": " | ".join(ruling.remedy for ruling in rulings if ruling.remedy),
        "caution": " | ".join(ruling.caution for ruling in rulings if ruling.caution),
        "rules": " | ".join(ruling.rule for ruling in rulings),
        "sources": " | ".join(ruling.source for ruling in rulings if ruling.source),
        "sure": " | ".join(ruling.sure for ruling in rulings),
        "disputed": " | ".join(ruling.argument or ruling.rule for ruling in rulings if ruling.disputed),
        "gaps_inside": "; ".join(f"{gap.label} ({gap.word.lower()})" for gap in part.gaps_inside),
        "photos": " ".join(dict.fromkeys(str(picture.crop.photo) for picture in part.pictures)),
        "note": "; ".join(filter(None, (part.back, part.note))),
    }


def _gap_row(gap: GapLine) -> dict[str, str]:
    return {
        "row": "gap",
        "component": gap.component,
        "label": gap.label,
        "assembly": gap.assembly,
        "duty": gap.duty,
        "state": gap.state,
        "in_hand": str(gap.found),
        "wanted": str(gap.quantity),
        "inside": gap.inside,
        "note": gap.note,
    }


def _about(data: ReportData) -> Iterator[tuple[str, str]]:
    machine, record = data.identity, data.record
    yield "machine", machine.name
    for label in ("kind", "maker", "model", "year", "engine", "bought", "note"):
        if said := str(getattr(machine, label)):
            yield label, said
    for stamp in machine.numbers:
        yield f"number, {stamp.place}", stamp.text + (f" ({stamp.note})" if stamp.note else "")
    yield "looked by", ", ".join(record.looked_by) or record.surveyor
    yield "looked", f"{record.first} to {record.last}" if record.first else "nobody has looked yet"
    yield "made", record.made_at
    yield "rules version", record.rules_version
    if data.wants:
        yield "wants", data.wants
    yield "photos not placed yet", str(data.not_looked.photos_waiting)
    for line in data.disclaimer:
        yield "what this is", line
