"""Mends every SVG in a folder in three ways and writes a summary table.

    mend_corpus.py FRETGRIN FOLDER [OUT.md]

The three ways: until all wood is as wide as the rule asks, until nothing stops
the work (--stops), and with a plain limit of 3 mm (--bridge 3mm). Counts how
many faces that had islands or weak bridges end without, the median share of the
open area changed, and lists the rest with the program's own reasons.
"""

import json
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor

WAYS = [
    ("as wide as the rule asks", []),
    ("until nothing stops the work (`--stops`)", ["--stops"]),
    ("every bridge 3 mm (`--bridge 3mm`)", ["--bridge", "3mm"]),
]


def is_done(edits):
    """Whether no island and no weak bridge is left that this way was to mend."""
    left = [u["finding"] for u in edits["unmended"] if u["finding"].startswith(("island", "bridge"))]
    return edits["after"]["islands"] == 0 and not left


def mend(program, file, options, folder):
    """The list of edits of one face (None when it could not be run), and seconds."""
    command = [program, "mend", "--out", folder, "--force", *options, str(file)]
    started = time.monotonic()
    done = subprocess.run(command, capture_output=True, text=True)
    took = time.monotonic() - started
    if done.returncode == 2:
        return None, took
    return json.loads((pathlib.Path(folder) / f"{file.stem}-edits.json").read_text()), took


def measure(program, files, options):
    """A row of figures, and the faces not done with their reasons."""
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(2) as pool:
        runs = list(pool.map(lambda file: mend(program, file, options, folder), files))
    rows = [(file.stem, edits, took) for file, (edits, took) in zip(files, runs) if edits is not None]
    faulty = [row for row in rows if row[1]["before"]["islands"] + row[1]["before"]["bridges"] > 0]
    held = [row for row in faulty if row[1]["after"]["islands"] == 0]
    done = [row for row in faulty if is_done(row[1])]
    changed = statistics.median([row[1]["summary"]["area_changed_share"] for row in faulty] or [0])
    took = [row[2] for row in rows] or [0]
    figures = (
        f"{len(rows)} | {len(faulty)} | {len(held)} | {len(done)} ({100 * len(done) / max(1, len(faulty)):.1f} %) "
        f"| {100 * changed:.1f} % | {statistics.median(took):.2f} s | {max(took):.2f} s"
    )
    left = [
        f"{name}: {edits['after']['islands']} islands, {edits['after']['bridges']} weak bridges left: "
        + "; ".join(sorted({u["why"] for u in edits["unmended"]}))[:160]
        for name, edits, _ in faulty
        if not is_done(edits)
    ]
    return figures, left + [f"{f.name}: could not be run" for f, (edits, _) in zip(files, runs) if edits is None]


def main():
    program, files = sys.argv[1], sorted(pathlib.Path(sys.argv[2]).glob("*.svg"))
    lines = [
        "| mended | faces | with islands or weak bridges | no island after | mended whole | median area changed "
        "| median run | slowest run |",
        "|---|---|---|---|---|---|---|---|",
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
