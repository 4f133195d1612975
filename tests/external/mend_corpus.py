"""Mends every SVG in a folder in three ways and writes a summary table.

    mend_corpus.py FRETGRIN FOLDER [OUT.md]

The three ways: until all wood is as wide as the rule asks, until nothing stops
the work (--stops), and with a plain limit of 3 mm (--bridge 3mm). Counts how
many faces that had islands or weak bridges end without, the median area changed (of
those faces and of all, in parts of the open area and of the panel, 5-1/4 by 10 in
as the program takes it unasked), how many of the files in which nothing stopped the
work have a stop when they are checked anew, and lists the rest with the program's own
reasons. Times are of `export --mend`, whole processes one at a
time: reading, checks, mending and outlines, without the pictures `mend` draws.
"""

import json
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor

# The panel the program takes unasked, mm².
PANEL = 133.35 * 254

WAYS = [
    ("as wide as the rule asks", []),
    ("only wood that would fail (`--stops`)", ["--stops"]),
    ("every bridge 3 mm (`--bridge 3mm`)", ["--bridge", "3mm"]),
]


def is_done(edits):
    """Whether no island and no weak bridge is left that this way was to mend."""
    left = [u["finding"] for u in edits["unmended"] if u["finding"].startswith(("island", "bridge"))]
    return edits["after"]["islands"] == 0 and not left


def mend(program, file, options, folder):
    """The list of edits of one face; None when it could not be run. With it whether
    the mended file, read back, has a stop that mending did not tell."""
    command = [program, "mend", "--out", folder, "--force", *options, str(file)]
    code = subprocess.run(command, capture_output=True).returncode
    if code == 2:
        return None
    edits = json.loads((pathlib.Path(folder) / f"{file.stem}-edits.json").read_text())
    limit = [option for option in options if option != "--stops"]
    again = [program, "check", *limit, str(pathlib.Path(folder) / f"{file.stem}-mended.svg")]
    edits["stops_anew"] = code == 0 and subprocess.run(again, capture_output=True).returncode != 0
    return edits


def seconds(program, file, options, folder):
    """How long one face takes; None where export has no such option or fails."""
    started = time.monotonic()
    command = [program, "export", "--mend", "--out", folder, "--force", *options, str(file)]
    done = subprocess.run(command, capture_output=True)
    return time.monotonic() - started if done.returncode != 2 else None


def measure(program, files, options):
    """A row of figures, and the faces not done with their reasons."""
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(2) as pool:
        runs = list(pool.map(lambda file: mend(program, file, options, folder), files))
        took = [t for t in (seconds(program, file, options, folder) for file in files) if t is not None]
    rows = [(file.stem, edits) for file, edits in zip(files, runs) if edits is not None]
    faulty = [row for row in rows if row[1]["before"]["islands"] + row[1]["before"]["bridges"] > 0]
    held = [row for row in faulty if row[1]["after"]["islands"] == 0]
    done = [row for row in faulty if is_done(row[1])]

    def changed(some, figure, whole):
        return 100 * statistics.median([row[1]["summary"][figure] / whole for row in some] or [0])

    open_area = [changed(some, "area_changed_share", 1) for some in (faulty, rows)]
    panel = [changed(some, "area_changed_mm2", PANEL) for some in (faulty, rows)]
    anew = [name for name, edits in rows if edits["stops_anew"]]
    times = f"{1000 * statistics.median(took):.0f} ms | {max(took):.2f} s" if took else "– | –"
    figures = (
        f"{len(rows)} | {len(faulty)} | {len(held)} | {len(done)} ({100 * len(done) / max(1, len(faulty)):.1f} %) "
        f"| {open_area[0]:.1f} % | {open_area[1]:.1f} % | {panel[0]:.1f} % | {panel[1]:.1f} % | {len(anew)} | {times}"
    )
    left = [
        f"{name}: {edits['after']['islands']} islands, {edits['after']['bridges']} weak bridges left: "
        + "; ".join(sorted({u["why"] for u in edits["unmended"]}))[:160]
        for name, edits in faulty
        if not is_done(edits)
    ]
    left += [f"{name}: has a stop when read back" for name in anew]
    return figures, left + [f"{f.name}: could not be run" for f, edits in zip(files, runs) if edits is None]


def main():
    program, files = sys.argv[1], sorted(pathlib.Path(sys.argv[2]).glob("*.svg"))
    lines = [
        "| mended | faces | with islands or weak bridges | no island after | mended whole "
        "| median change, of the open area | of all faces | of the panel | of all faces | stops read back | median time | slowest |",
        "|---|---|---|---|---|---|---|---|---|---|---|---|",
    ]
    reasons = []
    for name, options in WAYS:
        figures, left = measure(program, files, options)
        lines.append(f"| {name} | {figures} |")
        reasons += [f"{name}: {line}" for line in left]
    print("\n".join(lines + reasons))
    if len(sys.argv) > 3:
        pathlib.Path(sys.argv[3]).write_text("\n".join(lines) + "\n")


main()
