"""fretgrin beside what a handy person would script from general-purpose libraries.

    speed_table.py FRETGRIN TABLE_BENCH ICON_FOLDER DEMO_FOLDER

In one run, on the same files (the demo faces and 30 icons spread over the
folder), times and compares

- fretgrin: its check in process (TABLE_BENCH is the built `benches/table.rs`),
  `check --json` and `prepare` as whole processes;
- `scripted_check.py` beside this file, in two lengths: the bare script, which
  stops at islands and thin wood, and the same job, which measures bridges, slots,
  turns for every blade and entry holes as `check` does. Whole runs of it print
  JSON, as `check --json`; beside `prepare` it draws its report too.

The script's in-process figures are without imports; a whole run has them. Then
finds, kind by kind and by place, what of the script's findings fretgrin has too
and the reverse. Prints the table and the comparison as markdown.
"""

import json
import math
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

import scripted_check
import shapely

SCRIPT = scripted_check.__file__
RUNS = 3
ICONS = 30
NEAR = 3.0  # mm; findings of one place lie no farther apart


def timed(run):
    """Median time of a few runs, ms, and the last answer."""
    times = []
    for _ in range(RUNS):
        started = time.perf_counter()
        answer = run()
        times.append((time.perf_counter() - started) * 1000)
    return statistics.median(times), answer


def process(*command):
    """A whole process; a face with faults ends in 1, an error in more."""
    done = subprocess.run([str(word) for word in command], capture_output=True, text=True)
    if done.returncode > 1:
        sys.exit(f"{' '.join(map(str, command))}: {done.stderr}")
    return done.stdout


def apart(a, b):
    return math.hypot(a["x_mm"] - b["x_mm"], a["y_mm"] - b["y_mm"])


def one_place(kind, a, b):
    """Whether two findings are of one place. A long bar is one place all along it;
    a slot is as narrow from end to end, and named by its opening."""
    if kind == "bridges":
        along = max(a["free_length_mm"], b["free_length_mm"]) / 2
        alike = abs(a["width_mm"] - b["width_mm"]) <= 0.1 * max(a["width_mm"], b["width_mm"]) + 0.1
        return apart(a, b) <= (max(NEAR, along) if alike else NEAR)
    if kind == "slots":
        return a["opening"] == b["opening"]
    return apart(a, b) <= NEAR


def placed(places, openings):
    """Findings with the number of the opening they lie in."""
    tree = shapely.STRtree(openings)
    return [place | {"opening": int(tree.nearest(shapely.Point(place["x_mm"], place["y_mm"])))} for place in places]


def shared(kind, ours, theirs):
    """How many of ours they have too, and how many of theirs we have."""
    also = sum(any(one_place(kind, a, b) for b in theirs) for a in ours)
    back = sum(any(one_place(kind, a, b) for a in ours) for b in theirs)
    return [len(ours), also, len(theirs), back]


def compare(report, found):
    """Figures for each kind of finding: ours, of those theirs too, theirs, of those ours too."""
    openings = found["openings"]
    rows = {}
    ours = [shapely.Point(island["x_mm"], island["y_mm"]) for island in report["islands"]]
    theirs = shapely.union_all(found["islands"])
    met = [sum(island.buffer(0.1).contains(p) for p in ours) > 0 for island in found["islands"]]
    rows["islands"] = [len(ours), sum(theirs.distance(p) < 0.1 for p in ours), len(met), sum(met)]
    rows["weak bridges"] = shared("bridges", report["bridges"], found["bridges"])
    for severity in ("stop", "care"):
        of_it = [bridge for bridge in report["bridges"] if bridge["severity"] == severity]
        rows[f"weak bridges, {severity}"] = [len(of_it), shared("bridges", of_it, found["bridges"])[1], 0, 0]
    rows["tight turns"] = shared("turns", report["turns"], found["turns"])
    rows["slots"] = shared("slots", placed(report["slots"], openings), placed(found["slots"], openings))
    ours = [entry for cutout in report["cutouts"] for entry in cutout["entries"]]
    fits = [hole for hole in found["holes"] if hole["fits"]]
    rows["entry holes, by opening"] = shared("slots", placed(ours, openings), placed(fits, openings))
    blades = {blade["blade"]: blade for blade in report["blades"]}
    same = [abs(b["tight_turns"] - blades[b["blade"]]["tight_turns"]) <= 2 for b in found["blades"]]
    rows["turns of a blade, within 2"] = [len(same), sum(same), len(same), sum(same)]
    return rows


def bare_compare(report, thin):
    """Weak bridges the bare script marks too, and marks of it with no weak bridge near."""
    marks = shapely.union_all([p.buffer(0.5) for p in thin])
    weak = [shapely.Point(b["x_mm"], b["y_mm"]) for b in report["bridges"]]
    near = shapely.union_all([p.buffer(NEAR) for p in weak])
    return [len(weak), sum(marks.intersects(p) for p in weak), len(thin), sum(not p.intersects(near) for p in thin)]


def pick(folder, count):
    """Icons spread over the folder, of those whose features the script's reader knows."""
    every = sorted(pathlib.Path(folder).glob("*.svg"))
    plain = [f for f in every if not any(word in f.read_text() for word in ("<mask", "clip-path", "stroke="))]
    return [plain[i * len(plain) // count] for i in range(count)]


def measure(program, file, inside, folder):
    """The times of one file, and what either finds in it."""
    pdf = f"{folder}/script.pdf"
    # The script reads dark as cut; fretgrin is told the same, so that both judge one face.
    ours = [program, "check", "--json", "--cut", "dark", file]
    row = [inside]
    took, (_, _, thin) = timed(lambda: scripted_check.bare(file))
    row.append(took)
    took, found = timed(lambda: scripted_check.check(file))
    row.append(took)
    took, report = timed(lambda: process(*ours))
    row.append(took)
    row.append(timed(lambda: process(sys.executable, SCRIPT, file))[0])
    prepare = [program, "prepare", file, "--cut", "dark", "--out", folder, "--force"]
    row.append(timed(lambda: process(*prepare))[0])
    row.append(timed(lambda: process(sys.executable, SCRIPT, "--report", file, pdf))[0])
    return row, json.loads(report), found, thin


DIFFERENCES = """\
Where they part: the script puts bends with no room between them together, so it
counts fewer turns; it takes a bar's free length along its banks, not its middle, and
knows that something hangs on a bridge only from the ring it cuts, so bridges near
what they need fall on either side; it does not know wood between openings that touch
at a point. It gives no severity, no way round a turn, nothing on the saw's reach, the
order of sawing or the time, and reads only what its few lines of SVG know."""

HEAD = """| file | check, in process | the bare script | times | the same job scripted | times | `check`, whole run | the same job scripted, whole run | times | `prepare`, whole run | the script, drawing too | times |
|---|---|---|---|---|---|---|---|---|---|---|---|"""


def told(name, row):
    ours, bare, same, whole, whole_same, prepare, drawn = row
    cells = [name, f"{ours:.1f} ms", f"{bare:.0f} ms", f"{bare / ours:.0f}", f"{same:.0f} ms", f"{same / ours:.0f}"]
    cells += [f"{whole:.1f} ms", f"{whole_same:.0f} ms", f"{whole_same / whole:.0f}"]
    cells += [f"{prepare:.0f} ms", f"{drawn:.0f} ms", f"{drawn / prepare:.0f}"]
    print(f"| {' | '.join(cells)} |")


def main(program, bench, icons, demos):
    files = sorted(pathlib.Path(demos).glob("*.svg")) + pick(icons, ICONS)
    lines = process(bench, *files).splitlines()
    inside = {row["file"]: row["median_ms"] for row in map(json.loads, lines)}
    names, rows, kinds, bare = [], [], {}, [0] * 4
    with tempfile.TemporaryDirectory() as folder:
        for file in files:
            row, report, found, thin = measure(program, file, inside[str(file)], folder)
            names.append(file.stem)
            rows.append(row)
            for kind, figures in compare(report, found).items():
                kinds[kind] = [a + b for a, b in zip(kinds.get(kind, [0] * 4), figures)]
            bare = [a + b for a, b in zip(bare, bare_compare(report, thin))]
    print(HEAD)
    for name, row in list(zip(names, rows))[:-ICONS]:
        told(name, row)
    columns, of_icons = list(zip(*rows)), list(zip(*rows[-ICONS:]))
    told(f"{ICONS} icons, median", [statistics.median(column) for column in of_icons])
    told(f"all {len(rows)}, median", [statistics.median(column) for column in columns])
    told(f"all {len(rows)}, sum", [sum(column) for column in columns])
    least = [min(row[a] / row[b] for row in rows) for a, b in ((1, 0), (2, 0), (4, 3), (6, 5))]
    print(
        f"\nLeast of all files: the bare script {least[0]:.0f} times, the same job {least[1]:.0f} times in process, "
        f"{least[2]:.0f} times as a whole run, {least[3]:.0f} times with the drawing.\n"
    )
    print("| finding | fretgrin | of these the script too | the script | of these fretgrin too |\n|---|---|---|---|---|")
    for kind, (ours, also, theirs, back) in kinds.items():
        print(f"| {kind} | {ours} | {also} | {theirs or ''} | {back if theirs else ''} |")
    weak, marked, thin, idle = bare
    print(f"\nThe bare script marks {marked} of fretgrin's {weak} weak bridges; {idle} of its {thin} marks are at none: corners, tips and slivers.")
    print("\n" + DIFFERENCES)
    print(f"\nshapely {shapely.__version__}, Python {sys.version.split()[0]}; median of {RUNS} runs each.")


if __name__ == "__main__":
    main(*sys.argv[1:5])
