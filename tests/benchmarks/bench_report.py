"""How long a large report takes and how much memory: 300 parts, 600 photos, two findings a part.

Run: ``python tests/benchmarks/bench_report.py``. The limit is 10 s and 1 GB for the PDF on two cores, cutting
the pictures included. They are cut as in a real survey, out of its 1,800 pixel pictures (here grainy invented ones).
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1] / "support"), str(Path(__file__).parents[2])]

from paper_ferryman import BEND_RULE, CRACK_RULE, SCHEDULE, ferryman, finding, graded, photo  # noqa: E402

from survey.document.cut import Pictures  # noqa: E402
from survey.document.picture import CropRequest  # noqa: E402
from survey.model.parts import GradedPart, Part  # noqa: E402
from survey.model.photos import Mark  # noqa: E402
from survey.photos.pictures import crop_picture  # noqa: E402
from survey.report.files import write_html, write_json, write_pdf  # noqa: E402
from survey.report.gather_printed import ReportSource, gather_report  # noqa: E402
from survey.report.table_files import write_csv  # noqa: E402
from survey.store.layout import picture_path  # noqa: E402

PARTS = 300
DIFFERENT = 24
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


def survey_pictures(folder: Path) -> Pictures:
    """The survey's own smaller pictures, a few different ones under many names, and the cutter for them."""
    from PIL import Image, ImageFilter

    for number in range(DIFFERENT):
        grain = Image.effect_noise((1800, 1350), 60).filter(ImageFilter.GaussianBlur(1.5))
        view = picture_path(folder, f"{number:064x}", "view")
        view.parent.mkdir(parents=True, exist_ok=True)
        Image.merge("RGB", (grain, grain.transpose(Image.Transpose.ROTATE_180), grain)).save(view, "JPEG", quality=85)

    def cut(request: CropRequest) -> bytes:
        sha256 = f"{request.photo % DIFFERENT:064x}"
        return crop_picture(folder, folder / "original.jpg", sha256, request.box, request.width_px)

    return cut


def peak_gb() -> float:
    """The most memory this process has held, in GB."""
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1e9 if sys.platform == "darwin" else 1e6)


def main() -> int:
    """Print the figures; 1 when the PDF is over a limit."""
    source = large()
    with tempfile.TemporaryDirectory() as name:
        cut = survey_pictures(Path(name))
        began = time.perf_counter()
        data = gather_report(source)
        print(f"gather   {time.perf_counter() - began:6.2f} s   {len(data.parts)} parts, {len(data.pictures)} pictures")
        writers = {
            "pdf": lambda to: write_pdf(data, cut, to),
            "html": lambda to: write_html(data, cut, to),
            "csv": lambda to: write_csv(data, to),
            "json": lambda to: write_json(data, to),
        }
        took: dict[str, float] = {}
        for suffix, write in writers.items():
            to = Path(name) / f"report.{suffix}"
            began = time.perf_counter()
            write(to)
            took[suffix] = time.perf_counter() - began
            if suffix == "pdf":
                memory = peak_gb()
            print(f"{suffix:8} {took[suffix]:6.2f} s   {to.stat().st_size / 1e6:.1f} MB, {peak_gb():.2f} GB at most")
    return int(took["pdf"] > LIMIT_S or memory > LIMIT_GB)


if __name__ == "__main__":
    raise SystemExit(main())
