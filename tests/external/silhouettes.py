"""Compares fretgrin's reading of silhouettes with an independent one.

    silhouettes.py FRETGRIN FOLDER

For every SVG in FOLDER the dark area is built a second time with svgelements
(path reading) and shapely (planar faces, winding numbers), and three figures
are compared with `fretgrin check --json`: the open area, the number of
cut-outs and the number of islands. Where outlines touch at a point, which
facets decide either way, any count that the area has when grown or shrunk by
CONTACT is right. Prints one line for each difference and a summary; exit code 1
when any figure differs. Files with masks, clips or strokes, which svgelements does
not turn into areas, are left out and counted.
"""

import json
import math
import pathlib
import subprocess
import sys

import numpy
import shapely
from shapely.geometry import LineString, Polygon
from shapely.ops import polygonize, unary_union
from svgelements import SVG, Path, Shape

AREA = 2e-3  # relative; facets of STEP and the program's own 0.01 mm explain less
CONTACT = 2e-3  # of the icon's unit: a tenth of STEP
STEP = 0.02  # of the icon's unit, chord length aimed at when flattening


def rings(path):
    """Closed polylines of an svgelements path."""
    for sub in path.as_subpaths():
        points = []
        for segment in Path(sub):
            name = type(segment).__name__
            if name == "Move":
                points = [(segment.end.x, segment.end.y)]
            elif name in ("Line", "Close"):
                if segment.end is not None:
                    points.append((segment.end.x, segment.end.y))
            else:
                count = max(4, min(400, int(segment.length(error=1e-3) / STEP)))
                at = segment.npoint(numpy.linspace(0, 1, count + 1)[1:])
                points.extend((float(x), float(y)) for x, y in at)
        if len(points) > 2:
            yield points


def winding(point, loops):
    """Winding number of the loops round a point (crossing count)."""
    x, y = point
    total = 0
    for loop in loops:
        a = numpy.asarray(loop)
        b = numpy.roll(a, -1, axis=0)
        side = (b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (x - a[:, 0]) * (b[:, 1] - a[:, 1])
        total += int(numpy.sum((a[:, 1] <= y) & (b[:, 1] > y) & (side > 0)))
        total -= int(numpy.sum((a[:, 1] > y) & (b[:, 1] <= y) & (side < 0)))
    return total


def filled(path, rule):
    """The area a path fills, as shapely geometry."""
    loops = list(rings(path))
    if not loops:
        return Polygon()
    lines = unary_union([LineString(loop + loop[:1]) for loop in loops])
    faces = polygonize(lines)
    inside = (lambda w: w % 2) if rule == "evenodd" else (lambda w: w != 0)
    return unary_union([f for f in faces if inside(winding(f.representative_point().coords[0], loops))])


def dark(file):
    """Union of everything painted in the file, in its own units."""
    parts = []
    for element in SVG.parse(str(file)).elements():
        if isinstance(element, Shape) and element.fill is not None and element.fill.value is not None:
            parts.append(filled(Path(element), element.values.get("fill-rule", "nonzero")))
    return unary_union(parts)


def parts(area, speck):
    """Cut-outs and islands of an area, dust under `speck` square units left out."""
    pieces = list(getattr(area, "geoms", [area]))
    pieces = [p for p in pieces if p.area > speck]
    islands = sum(1 for p in pieces for hole in p.interiors if Polygon(hole).area > speck)
    return len(pieces), islands


# What this script's reading leaves aside; tests of the project cover them.
UNREAD = ("<mask", "clip-path", "stroke=")
# Files on which the second reading is the one in error, with the third witness.
KNOWN = {
    "statue-of-liberty.svg": "area 343.308 by librsvg at 3200 pixels, 343.316 by fretgrin, 344.010 by this script",
}


def counts(area, speck):
    """The counts of parts that touching outlines allow: (cut-outs, islands) ranges."""
    found = [parts(a, speck) for a in (area, area.buffer(CONTACT), area.buffer(-CONTACT))]
    return [range(min(f[i] for f in found), max(f[i] for f in found) + 1) for i in (0, 1)]


def report(program, file):
    """fretgrin's own figures."""
    command = [program, "check", "--json", "--cut", "dark", "--keep-specks", str(file)]
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode == 2:
        raise RuntimeError(done.stderr.strip())
    return json.loads(done.stdout)


def compare(program, file):
    """Differences of one file, as text."""
    found = report(program, file)
    scale = found["fit"]["scale"] * 25.4 / 96
    area = dark(file)
    ours = sum(c["area_mm2"] for c in found["cutouts"]) / scale**2
    speck = 1e-3
    cutouts, islands = counts(area, speck)
    tiny = speck * scale**2
    our_cutouts = sum(1 for c in found["cutouts"] if c["area_mm2"] > tiny)
    our_islands = sum(1 for i in found["islands"] if i["area_mm2"] > tiny)
    wrong = []
    if abs(ours - area.area) > AREA * area.area:
        wrong.append(f"area {ours:.4f} against {area.area:.4f}")
    if our_cutouts not in cutouts:
        wrong.append(f"{our_cutouts} cut-outs against {list(cutouts)}")
    if our_islands not in islands:
        wrong.append(f"{our_islands} islands against {list(islands)}")
    return wrong, abs(ours - area.area) / max(area.area, 1e-9), our_islands


def main():
    program, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    every = sorted(folder.glob("*.svg"))
    files = [f for f in every if f.name not in KNOWN and not any(word in f.read_text() for word in UNREAD)]
    bad, worst, with_islands = 0, 0.0, 0
    for file in files:
        try:
            wrong, error, islands = compare(program, file)
        except RuntimeError as fault:
            wrong, error, islands = [f"could not run: {fault}"], 0.0, 0
        worst, with_islands = max(worst, error), with_islands + (islands > 0)
        if wrong:
            bad += 1
            print(f"{file.name}: {'; '.join(wrong)}")
    print(f"{len(files)} silhouettes, {with_islands} with islands, {bad} differ, largest area difference {worst:.2e}")
    print(f"{len(every) - len(files)} left out: masks, clips, strokes, or known: {KNOWN}")
    print(f"shapely {shapely.__version__}, GEOS {'.'.join(map(str, shapely.geos_version))}")
    assert len(files) >= 300, "too few silhouettes to mean anything"
    assert math.isfinite(worst)
    sys.exit(1 if bad else 0)


main()
