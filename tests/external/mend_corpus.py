"""Mends every SVG in a folder and writes a summary table.

    mend_corpus.py FRETGRIN FOLDER [OUT.md]

Counts how many faces end with no island and no weak bridge, the median share of
the open area changed, and lists the rest with the program's own reasons.
"""

import json
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time


def mend(program, file, folder):
    """The list of edits of one face, or None when it could not be run."""
    command = [program, "mend", "--out", folder, "--force", str(file)]
    started = time.monotonic()
    done = subprocess.run(command, capture_output=True, text=True)
    took = time.monotonic() - started
    if done.returncode == 2:
        return None, took
    return json.loads((pathlib.Path(folder) / f"{file.stem}-edits.json").read_text()), took


def main():
    program, files = sys.argv[1], sorted(pathlib.Path(sys.argv[2]).glob("*.svg"))
    rows, failed, slowest = [], [], 0.0
    with tempfile.TemporaryDirectory() as folder:
        for file in files:
            edits, took = mend(program, file, folder)
            slowest = max(slowest, took)
            if edits is None:
                failed.append(file.name)
            else:
                rows.append((file.name, edits))
    faulty = [r for r in rows if r[1]["before"]["islands"] + r[1]["before"]["bridges"] > 0]
    held = [r for r in faulty if r[1]["after"]["islands"] == 0]
    sound = [r for r in faulty if r[1]["after"]["islands"] + r[1]["after"]["bridges"] == 0]
    changed = [r[1]["summary"]["area_changed_share"] for r in faulty]
    lines = [
        "| faces | with islands or weak bridges | no island after | no island, no weak bridge after | median area changed | slowest run |",
        "|---|---|---|---|---|---|",
        f"| {len(rows)} | {len(faulty)} | {len(held)} | {len(sound)} ({100 * len(sound) / max(1, len(faulty)):.1f} %) "
        f"| {100 * statistics.median(changed or [0]):.1f} % | {slowest:.2f} s |",
    ]
    print("\n".join(lines))
    if len(sys.argv) > 3:
        pathlib.Path(sys.argv[3]).write_text("\n".join(lines) + "\n")
    for name in failed:
        print(f"{name}: could not be run")
    for name, edits in faulty:
        if edits["after"]["islands"] + edits["after"]["bridges"]:
            why = "; ".join(sorted({u["why"] for u in edits["unmended"]}))[:160]
            print(f"{name}: {edits['after']['islands']} islands, {edits['after']['bridges']} bridges left: {why}")


main()
