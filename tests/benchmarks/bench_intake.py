"""How long it takes to take photos in, beside the tools one would otherwise string together; memory; and growth.

Run: ``python -m tests.benchmarks.bench_intake`` from the top of the repository. The yardstick is ``sha256sum``,
``exiftool -fast -json`` and ``vipsthumbnail`` twice over the same 12-megapixel JPEGs (Debian: coreutils,
libimage-exiftool-perl, libvips-tools); without them only our own times are printed. The two take turns and the best
of several rounds counts, for other work on the machine slows both. ``--many`` adds the memory for a thousand such
photos and the time per photo up to five thousand small ones, which takes some minutes and 9 GB of disk.
"""

from __future__ import annotations

import argparse
import json
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

import photo_factory as make

TOOLS = ("sha256sum", "exiftool", "vipsthumbnail")
WIDTH_PX, HEIGHT_PX = 4032, 3024
TARGET = 0.8

TAKE_IN = """
import json, resource, sys, time
from pathlib import Path
from survey.photos.verbs import take_in_photos
from survey.shelf.verbs import open_survey
with open_survey(Path(sys.argv[1])) as survey:
    marks, start = [], time.perf_counter()
    result = take_in_photos(survey, [Path(sys.argv[2])], lambda *_: marks.append(time.perf_counter() - start))
    seconds = time.perf_counter() - start
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(json.dumps({"seconds": seconds, "peak_mb": peak, "added": len(result.added), "marks": marks}))
"""


def make_photos(folder: Path, count: int, seed: int = 1957) -> None:
    """Distinct 12-megapixel JPEGs of 3 to 4 MB with the tags a phone writes."""
    folder.mkdir(parents=True)
    pixels = np.asarray(make.textured(WIDTH_PX, HEIGHT_PX, seed, grain=5.0))
    for number in range(count):
        block = make.exif(
            orientation=6 if number % 3 else 1,
            original=f"2024:05:01 {10 + number // 3600:02}:{number // 60 % 60:02}:{number % 60:02}",
            offset="+01:00",
            make="Invented Optics",
            model="Pocket 3",
            position=True,
        )
        shifted = Image.fromarray(np.roll(pixels, (number * 61, number * 127), (0, 1)))
        (folder / f"IMG_{number:05}.jpg").write_bytes(make.picture(image=shifted, exif=block, quality=90))


def make_small_photos(folder: Path, count: int) -> None:
    """Distinct small JPEGs, for counting what does not depend on pixels."""
    folder.mkdir(parents=True)
    for number in range(count):
        (folder / f"IMG_{number:05}.jpg").write_bytes(make.picture(image=make.textured(96, 72, number)))


def repeat_photos(source: Path, to: Path, count: int) -> None:
    """More files of the same pictures, each with another trailer, as motion photos have."""
    to.mkdir(parents=True)
    data = [file.read_bytes() for file in sorted(source.iterdir())]
    for number in range(count):
        (to / f"IMG_{number:05}.jpg").write_bytes(data[number % len(data)] + number.to_bytes(4, "big"))


def our_run(photos: Path, survey: Path) -> dict[str, float | list[float]]:
    """Take the photos into a new survey in a process of its own; its seconds, peak memory (MB) and progress."""
    from survey.shelf.verbs import make_survey

    make_survey(survey, "lightweight", "Haldane-Pike Ferryman").close()
    run = [sys.executable, "-c", TAKE_IN, str(survey), str(photos)]
    said: dict[str, float | list[float]] = json.loads(subprocess.run(run, capture_output=True, check=True).stdout)
    return said


def their_run(photos: Path, out: Path) -> float:
    """Seconds of the four programs over the same files, one after the other as a script would run them."""
    files = sorted(str(file) for file in photos.iterdir())
    out.mkdir()
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "check": True}
    start = time.perf_counter()
    subprocess.run(["sha256sum", *files], **quiet)
    subprocess.run(["exiftool", "-fast", "-json", *files], **quiet)
    for size in (480, 1800):
        subprocess.run(["vipsthumbnail", "--size", str(size), "-o", f"{out}/%s-{size}.jpg", *files], **quiet)
    return time.perf_counter() - start


def compare(room: Path, photos: Path, rounds: int) -> None:
    """Take turns; print the best of each and the ratio."""
    count = len(list(photos.iterdir()))
    size_mb = sum(file.stat().st_size for file in photos.iterdir()) / count / 1e6
    print(f"{count} JPEGs of {WIDTH_PX} x {HEIGHT_PX}, {size_mb:.1f} MB each; best of {rounds} rounds")
    ours, theirs = [], []
    with_tools = all(map(shutil.which, TOOLS))
    for number in range(rounds):
        ours.append(float(our_run(photos, room / f"survey-{number}")["seconds"]))  # type: ignore[arg-type]
        shutil.rmtree(room / f"survey-{number}")
        if with_tools:
            theirs.append(their_run(photos, room / f"out-{number}"))
            shutil.rmtree(room / f"out-{number}")
    print(f"ours:   {min(ours):6.2f} s, {1000 * min(ours) / count:.0f} ms a photo")
    if not with_tools:
        print(f"no yardstick: {', '.join(tool for tool in TOOLS if not shutil.which(tool))} not installed")
        return
    print(f"theirs: {min(theirs):6.2f} s, {1000 * min(theirs) / count:.0f} ms a photo")
    print(f"ratio:  {min(ours) / min(theirs):6.2f} (at most {TARGET})")


def many(room: Path, photos: Path) -> None:
    """Print the peak memory for a thousand large photos and the time per photo as a survey grows."""
    repeat_photos(photos, room / "thousand", 1000)
    run = our_run(room / "thousand", room / "survey-thousand")
    print(f"1,000 photos: peak memory of the parent {run['peak_mb']:.0f} MB (at most 400), {run['seconds']:.0f} s")
    shutil.rmtree(room / "thousand")
    shutil.rmtree(room / "survey-thousand")
    make_small_photos(room / "small", 5000)
    marks = our_run(room / "small", room / "survey-small")["marks"]
    assert isinstance(marks, list)
    for until in (100, 1000, 2500, 5000):
        print(f"small photos up to {until:,}: {10 * (marks[until - 1] - marks[until - 100]):.1f} ms each")


def main() -> None:
    """Make the photos, run both, print the figures."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    options.add_argument("--photos", type=int, default=24)
    options.add_argument("--rounds", type=int, default=5)
    options.add_argument("--many", action="store_true")
    chosen = options.parse_args()
    with tempfile.TemporaryDirectory() as name:
        room = Path(name)
        make_photos(room / "photos", chosen.photos)
        compare(room, room / "photos", chosen.rounds)
        if chosen.many:
            many(room, room / "photos")


if __name__ == "__main__":
    main()
