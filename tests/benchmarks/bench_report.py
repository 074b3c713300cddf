"""How long a large report takes and how much memory: 300 parts, 600 photos, two findings a part.

Run: ``python tests/benchmarks/bench_report.py``. The limit is 10 s and 1 GB for the PDF on two cores; the
pictures are noise of the size the report asks for, at the quality a photo would be cut at.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from paper_ferryman import BEND_RULE, CRACK_RULE, SCHEDULE, ferryman, finding, graded, gradient_pictures, photo  # noqa: E402

from survey.model import GradedPart, Mark, Part  # noqa: E402
from survey.paper import ReportSource, gather, write_csv, write_html, write_json, write_pdf  # noqa: E402

PARTS = 300
LIMIT_S = 10.0
LIMIT_GB = 1.0


def large(parts: int = PARTS) -> ReportSource:
    """A survey of that many parts with two photos and two findings each."""
    return ferryman(
        graded=tuple(_part(number) for number in range(1, parts + 1)),
        photos={one: photo(one) for one in range(1, 2 * parts + 1)},
    )


def _part(number: int) -> GradedPart:
    first, second = 2 * number - 1, 2 * number
    found = (
        finding(first, number, "crack", 3, note="starts at the lug and runs towards the seam", photos=(first,)),
        finding(second, number, "bend", 2, photos=(second,)),
    )
    marks = (
        Mark(first, first, number, first, "box", ((0.2, 0.3), (0.4, 0.5))),
        Mark(second, second, number, second, "pin", ((0.6, 0.6),)),
    )
    component = replace(SCHEDULE[number % len(SCHEDULE)], label=f"{SCHEDULE[number % len(SCHEDULE)].label} {number}")
    part = Part(number, component.id, "", box=f"box {number % 7}", photos=(first, second))
    return graded(part, component, (CRACK_RULE, BEND_RULE), findings=found, marks=marks)


def peak_gb() -> float:
    """The most memory this process has held, in GB."""
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1e9 if sys.platform == "darwin" else 1e6)


def main() -> int:
    """Print the figures; 1 when the PDF is over a limit."""
    cut = gradient_pictures()
    source = large()
    with tempfile.TemporaryDirectory() as name:
        began = time.perf_counter()
        data = gather(source)
        print(f"gather   {time.perf_counter() - began:6.2f} s   {len(data.parts)} parts, {len(data.pictures)} pictures")
        began = time.perf_counter()
        for picture in data.pictures:
            cut(picture.crop)
        print(
            f"cutting  {time.perf_counter() - began:6.2f} s   of the trial's own pictures, contained in each line below"
        )
        pdf = Path(name) / "report.pdf"
        began = time.perf_counter()
        write_pdf(data, cut, pdf)
        took, memory = time.perf_counter() - began, peak_gb()
        print(f"pdf      {took:6.2f} s   {memory:.2f} GB at most, {pdf.stat().st_size / 1e6:.1f} MB")
        for suffix, write in (
            ("html", lambda to: write_html(data, cut, to)),
            ("csv", lambda to: write_csv(data, to)),
            ("json", lambda to: write_json(data, to)),
        ):
            to = Path(name) / f"report.{suffix}"
            began = time.perf_counter()
            write(to)
            print(f"{suffix:8} {time.perf_counter() - began:6.2f} s   {to.stat().st_size / 1e6:.1f} MB")
    return int(took > LIMIT_S or memory > LIMIT_GB)


if __name__ == "__main__":
    raise SystemExit(main())
