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
    parser.add_argument("--truth", action="store_true", help="build the scenes again for their points only")
    parser.add_argument("--out", type=Path, default=HERE.parent)
    parser.add_argument("--plates", type=Path, default=Path(tempfile.gettempdir()) / "plates")
    return parser.parse_args()


def chosen(names):
    plan = tomllib.loads((HERE / "plan.toml").read_text("utf-8"))["photo"]
    return [row for row in plan if not names or any(row["file"].startswith(n) for n in names)]


def _plate_size(row, draft):
    """Pixels rendered: a phone's lens is soft, so a plate somewhat smaller than the photo loses nothing."""
    longest = 800 if draft else row.get("plate", 1360)
    return [round(c * longest / max(row["size"])) for c in row["size"]]


def plate(row, plates, draft):
    """Build and render one photo; returns what is known of it."""
    import render

    subjects, corners = render.build(row)
    size = _plate_size(row, draft)
    told = render.geometry(row, subjects, corners, row["size"])
    render.picture(
        row, size, 4 if draft else row.get("samples", 5 if max(size) <= 1600 else 4), plates / f"{row['file']}.png"
    )
    if row.get("masks") and not draft:
        small = [round(c * 1000 / max(row["size"])) for c in row["size"]]
        told["visible"] = areas(render, render.labels(small, plates), row, plates)
    return told


def _again(row, known):
    """What is known of a kept plate, its points told afresh."""
    import render

    return known | render.geometry(row, *render.build(row), row["size"])


def areas(render, found, row, plates):
    """Write the masks and return the areas behind them."""
    import cv2

    stem = Path(row["file"]).stem
    told = {"rust_spot_px": render.middle_px(found["rust"], row["size"])}
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
    entry["shows"] = [{**part, "findings": _findings(part["findings"], known)} for part in row["shows"]]
    return entry | known


def _findings(planned, known):
    """Findings as [kind, step, spot] become kind, step and, where the spot is known, the pixel it sits on."""
    told = []
    for kind, step, *spot in planned:
        finding = {"kind": kind, "step": step}
        if spot:
            finding["spot"], finding["at_px"] = spot[0], _spot(spot[0], known)
        told.append(finding)
    return told


def _spot(name, known):
    if name == "rust":
        return known["visible"]["rust_spot_px"]
    return next(s["points"][name]["px"] for s in known["subjects"] if name in s["points"])


def tell(options):
    """Bring truth.json up to date with every kept plate; photos made elsewhere keep their entries."""
    path = options.out / "truth.json"
    photos = json.loads(path.read_text("utf-8"))["photos"] if path.exists() else {}
    for row in chosen([]):
        kept = options.plates / f"{row['file']}.json"
        if kept.exists():
            photos[row["file"]] = told_of(row, json.loads(kept.read_text()))
    path.write_text(json.dumps({"photos": dict(sorted(photos.items()))}, indent=1) + "\n", "utf-8")


def main():
    options = arguments()
    options.plates.mkdir(parents=True, exist_ok=True)
    for row in chosen(options.names):
        kept = options.plates / f"{row['file']}.json"
        if options.truth:
            kept.write_text(json.dumps(_again(row, json.loads(kept.read_text()))))
        elif not options.finish:
            kept.write_text(json.dumps(plate(row, options.plates, options.draft)))
        if not options.draft:
            finish(row, options.plates, options.out)
            tell(options)
            print("finished", row["file"], flush=True)


if __name__ == "__main__":
    main()
