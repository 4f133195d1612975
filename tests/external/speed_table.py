"""fretgrin beside what a handy person would script from general-purpose libraries.

    speed_table.py FRETGRIN TABLE_BENCH ICON_FOLDER DEMO_FOLDER

In one run, on the same files (the demo faces and 30 icons spread over the
folder), times and compares

- fretgrin: its check in process (TABLE_BENCH is the built `benches/table.rs`)
  and `prepare` as a whole process, template and report and all;
- a script: svgelements reads, the outlines are flattened and built into areas
  with shapely, laid in the window, islands are the holes of the openings, thin
  wood is what a negative buffer loses, and reportlab draws a PDF at true size.

The script is written for speed where that costs nothing: numpy where it helps,
chords of 0.25 mm on the panel, no repeated work, no imports in the in-process
figure. It stops where such a script would: one limit for all wood, no lengths,
no grain, no turns, slots, entry holes, order or cautions. Prints the table and
the comparison as markdown.
"""

import io
import json
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

import numpy
import shapely
from reportlab.pdfgen import canvas
from shapely import affinity
from shapely.geometry import LineString, Polygon, box
from svgelements import SVG, Close, Line, Move, Path, Shape

PANEL = (133.35, 254.0)
CLEAR = 22.225
CHORD = 0.25  # mm on the panel: within 0.01 mm of a curve of 1 mm radius
THIN = 3.0  # mm; below this the script calls wood thin
MM = 72 / 25.4
RUNS = 3


def loops(path, chord):
    """Closed polylines of a path."""
    for sub in path.as_subpaths():
        points = []
        for segment in Path(sub):
            if isinstance(segment, Move):
                points = [(segment.end.x, segment.end.y)]
            elif isinstance(segment, (Line, Close)):
                if segment.end is not None:
                    points.append((segment.end.x, segment.end.y))
            else:
                corners = [getattr(segment, name) for name in ("start", "control", "control1", "control2", "end") if hasattr(segment, name)]
                length = sum(abs(a - b) for a, b in zip(corners, corners[1:]))
                count = int(min(200, max(4, length / chord)))
                points.extend(map(tuple, segment.npoint(numpy.linspace(0, 1, count + 1)[1:])))
        if len(points) > 1:
            yield points


def stroked(path, element, chord):
    """What a path's stroke covers."""
    lines = [LineString(points) for points in loops(path, chord)]
    caps = element.values.get("stroke-linecap")
    return shapely.unary_union(lines).buffer(element.stroke_width / 2, cap_style="round" if caps == "round" else "flat")


def filled(path, element, chord):
    """What a path fills: outlines alternate, or by direction where the rule says so."""
    rings = [Polygon(points) for points in loops(path, chord) if len(points) > 3]
    rings.sort(key=lambda ring: -ring.area)
    inside = Polygon()
    for ring in rings:
        solid = ring if ring.is_valid else ring.buffer(0)
        if element.values.get("fill-rule") == "evenodd":
            inside = inside.symmetric_difference(solid)
        elif ring.exterior.is_ccw == rings[0].exterior.is_ccw:
            inside = inside.union(solid)
        else:
            inside = inside.difference(solid)
    return inside


def is_dark(colour):
    return 0.299 * colour.red + 0.587 * colour.green + 0.114 * colour.blue < 128


def read(file):
    """The dark area of a drawing, in its own units: outlines alternate within a
    path, light paint takes away what is dark below it."""
    area, layer, dark = Polygon(), [], True

    def painted():
        return area.union(shapely.unary_union(layer)) if dark else area.difference(shapely.unary_union(layer))

    drawing = SVG.parse(str(file))
    chord = max(drawing.viewbox.width, drawing.viewbox.height) * CHORD / PANEL[0]
    for element in drawing.elements():
        if not isinstance(element, Shape):
            continue
        path = Path(element)
        for paint, shape in ((element.fill, filled), (element.stroke, stroked)):
            if paint is None or paint.value is None:
                continue
            if is_dark(paint) != dark:
                area, layer, dark = painted(), [], not dark
            layer.append(shape(path, element, chord))
    return painted()


def lay(area):
    """The area in the panel's window, y up."""
    x0, y0, x1, y1 = area.bounds
    width, height = PANEL[0] - 2 * CLEAR, PANEL[1] - 2 * CLEAR
    scale = min(width / (x1 - x0), height / (y1 - y0))
    moved = affinity.translate(area, -(x0 + x1) / 2, -(y0 + y1) / 2)
    return affinity.translate(affinity.scale(moved, scale, -scale, origin=(0, 0)), PANEL[0] / 2, PANEL[1] / 2)


def pieces(area):
    return [p for p in getattr(area, "geoms", [area]) if isinstance(p, Polygon) and not p.is_empty]


def analyse(file):
    """What a script finds: openings, islands, thin wood."""
    openings = pieces(lay(read(file)))
    islands = [Polygon(hole) for opening in openings for hole in opening.interiors if Polygon(hole).area > 0.1]
    wood = box(0, 0, *PANEL).difference(shapely.unary_union(openings))
    sound = wood.buffer(-THIN / 2).buffer(THIN / 2 + 1e-3)
    thin = [p for p in pieces(wood.difference(sound)) if p.area > 0.2]
    return openings, islands, thin


def draw(openings, islands, thin):
    """A PDF at true size, the faults in red."""
    out = io.BytesIO()
    page = canvas.Canvas(out, pagesize=(PANEL[0] * MM, PANEL[1] * MM))
    for shapes, colour in ((openings, (0, 0, 0)), (islands, (1, 0, 0)), (thin, (1, 0, 0))):
        page.setStrokeColorRGB(*colour)
        for shape in shapes:
            for ring in (shape.exterior, *shape.interiors):
                line = page.beginPath()
                points = numpy.asarray(ring.coords) * MM
                line.moveTo(*points[0])
                for point in points[1:]:
                    line.lineTo(*point)
                line.close()
                page.drawPath(line)
    page.showPage()
    page.save()
    return out.getvalue()


def timed(run):
    """Median time of a few runs, ms, and the last answer."""
    times = []
    for _ in range(RUNS):
        started = time.perf_counter()
        answer = run()
        times.append((time.perf_counter() - started) * 1000)
    return statistics.median(times), answer


def report(program, file):
    done = subprocess.run([program, "check", "--json", "--cut", "dark", str(file)], capture_output=True, text=True)
    return json.loads(done.stdout)


def compare(ours, islands, thin):
    """Weak bridges the script marks too, and marks of the script with no weak bridge near."""
    marked = shapely.unary_union([p.buffer(0.5) for p in thin])
    held = {i["id"] for i in ours["islands"]}
    weak = [shapely.Point(b["x_mm"], b["y_mm"]) for b in ours["bridges"] if b["width_mm"] < THIN]
    also = sum(1 for p in weak if marked.intersects(p))
    near = shapely.unary_union([p.buffer(THIN) for p in weak])
    idle = sum(1 for p in thin if not p.intersects(near))
    return len(held) == len(islands), len(weak), also, len(thin), idle


def pick(folder, count):
    every = sorted(pathlib.Path(folder).glob("*.svg"))
    plain = [f for f in every if not any(word in f.read_text() for word in ("<mask", "clip-path", "stroke="))]
    return [plain[i * len(plain) // count] for i in range(count)]


def main(program, bench, icons, demos):
    files = sorted(pathlib.Path(demos).glob("*.svg")) + pick(icons, 30)
    lines = subprocess.run([bench, *map(str, files)], capture_output=True, text=True, check=True).stdout.splitlines()
    inside = {row["file"]: row["median_ms"] for row in map(json.loads, lines)}
    rows, total = [], [0] * 5
    with tempfile.TemporaryDirectory() as folder:
        for file in files:
            ours_whole, _ = timed(lambda: subprocess.run(
                [program, "prepare", str(file), "--out", folder, "--force"], capture_output=True, check=False))
            theirs_whole, _ = timed(lambda: subprocess.run(
                [sys.executable, __file__, "--one", str(file), f"{folder}/script.pdf"], capture_output=True, check=True))
            theirs, found = timed(lambda: analyse(file))
            rows.append((file.stem, inside[str(file)], theirs, ours_whole, theirs_whole))
            same = compare(report(program, file), found[1], found[2])
            total = [a + b for a, b in zip(total, same)]
    print("| file | check, in process | the script, in process | times | `prepare`, whole run | the script, whole run | times |")
    print("|---|---|---|---|---|---|---|")

    def row(name, ours, theirs, ours_whole, theirs_whole):
        print(f"| {name} | {ours:.1f} ms | {theirs:.0f} ms | {theirs / ours:.0f} | {ours_whole:.0f} ms | {theirs_whole:.0f} ms | {theirs_whole / ours_whole:.0f} |")

    for cells in rows[: len(rows) - 30]:
        row(*cells)
    icon_rows = rows[-30:]
    row("30 icons, median", *(statistics.median(r[i] for r in icon_rows) for i in range(1, 5)))
    row(f"all {len(rows)}, median", *(statistics.median(r[i] for r in rows) for i in range(1, 5)))
    row(f"all {len(rows)}, sum", *(sum(r[i] for r in rows) for i in range(1, 5)))
    least = min(r[2] / r[1] for r in rows), min(r[4] / r[3] for r in rows)
    print(f"\nLeast of all files: {least[0]:.0f} times in process, {least[1]:.0f} times as a whole run.")
    same, weak, also, thin, idle = total
    print(
        f"\nSame number of islands in {same} of {len(rows)} files. Of fretgrin's {weak} bridges under {THIN:.0f} mm the script "
        f"marks {also}; {idle} of the script's {thin} marks are at no bridge: corners, tips and slivers."
    )
    print(f"\nshapely {shapely.__version__}, Python {sys.version.split()[0]}; median of {RUNS} runs each.")


if __name__ == "__main__":
    if sys.argv[1] == "--one":
        pathlib.Path(sys.argv[3]).write_bytes(draw(*analyse(sys.argv[2])))
    else:
        main(*sys.argv[1:5])
