"""Make the sample photos: python make.py [NAME ...] [--draft] [--out FOLDER] [--plates FOLDER].

Renders each photo of plan.toml, finishes it as a phone would and adds what is known of it to truth.json.
Renders are kept in the plates folder, so that a change of finish or of words does not render again (--finish).
"""

from __future__ import annotations

import argparse
import json
import tempfile
import tomllib
from pathlib import Path

HERE = Path(__file__).parent
KEPT = ("file", "box", "about", "shows", "same_part_as", "look")


def arguments():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("names", nargs="*", help="file names or the start of them; all when none is given")
    parser.add_argument("--draft", action="store_true", help="a small quick look, no truth")
    parser.add_argument("--finish", action="store_true", help="finish kept plates again without rendering")
    parser.add_argument("--out", type=Path, default=HERE.parent)
    parser.add_argument("--plates", type=Path, default=Path(tempfile.gettempdir()) / "plates")
    return parser.parse_args()


def chosen(names):
    plan = tomllib.loads((HERE / "plan.toml").read_text("utf-8"))["photo"]
    return [row for row in plan if not names or any(row["file"].startswith(n) for n in names)]


def plate(row, plates, draft):
    """Build and render one photo; returns what is known of it."""
    import render

    subjects, corners = render.build(row)
    size = [round(c * 0.36) for c in row["size"]] if draft else row.get("plate", [round(c * 0.85) for c in row["size"]])
    told = render.geometry(row, subjects, corners, row["size"])
    render.picture(row, size, 5 if draft else row.get("samples", 6), plates / f"{row['file']}.png")
    if row.get("masks") and not draft:
        small = [round(c * 1000 / max(row["size"])) for c in row["size"]]
        told["visible"] = areas(render, render.labels(small, plates), row, plates)
    return told


def areas(render, found, row, plates):
    """Write the masks and return the areas behind them."""
    import cv2

    stem = Path(row["file"]).stem
    told = {}
    for name in ("rust", "part", "mark"):
        if not found[name].any():
            continue
        cv2.imwrite(str(plates / f"{stem}_{name}.png"), found[name].astype("uint8") * 255, [cv2.IMWRITE_PNG_BILEVEL, 1])
        told[f"{name}_mm2"] = round(render.visible_mm2(found[name], found["places"]), 1)
        told[f"{name}_px_share"] = round(float(found[name].mean()), 5)
    return told


def finish(row, plates, out):
    """The finished file from its plate."""
    import cv2
    from finish import write

    pixels = cv2.imread(str(plates / f"{row['file']}.png"))
    if list(pixels.shape[1::-1]) != row["size"]:
        pixels = cv2.resize(pixels, row["size"], interpolation=cv2.INTER_LANCZOS4)
    write(pixels, row, out / row["file"])
    for mask in plates.glob(f"{Path(row['file']).stem}_*.png"):
        (out / "masks").mkdir(exist_ok=True)
        (out / "masks" / mask.name).write_bytes(mask.read_bytes())


def told_of(row, known):
    """One photo's entry in truth.json."""
    entry = {key: row[key] for key in KEPT if key in row}
    entry["exif"] = {"make": "Corvale", "model": "Corvale Lantern 3", "orientation": 1, **row["exif"]}
    stem = Path(row["file"]).stem
    if known.get("visible"):
        entry["masks"] = {
            name.removesuffix("_mm2"): f"masks/{stem}_{name.removesuffix('_mm2')}.png"
            for name in known["visible"]
            if name.endswith("_mm2")
        }
    return entry | known


def main():
    options = arguments()
    options.plates.mkdir(parents=True, exist_ok=True)
    for row in chosen(options.names):
        kept = options.plates / f"{row['file']}.json"
        if not options.finish:
            kept.write_text(json.dumps(plate(row, options.plates, options.draft)))
        if options.draft:
            continue
        finish(row, options.plates, options.out)
        path = options.out / "truth.json"
        truth = json.loads(path.read_text("utf-8")) if path.exists() else {"photos": {}}
        truth["photos"][row["file"]] = told_of(row, json.loads(kept.read_text()))
        truth["photos"] = dict(sorted(truth["photos"].items()))
        path.write_text(json.dumps(truth, indent=1) + "\n", "utf-8")
        print("finished", row["file"], flush=True)


if __name__ == "__main__":
    main()
