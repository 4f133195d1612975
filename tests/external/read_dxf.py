"""Reads exported outlines with an independent DXF library and measures them.

    read_dxf.py OUTLINES.dxf EXPECTED.json

ezdxf reads the file and audits it; each layer's outlines become shapely areas.
EXPECTED holds `open_area` (mm²), `rings`, `panel` (width, height) and `holes`
(x, y, diameter each). Prints what was measured; exit code 1 when anything is
off by more than the tolerances below.
"""

import json
import math
import sys

import ezdxf
from ezdxf import path
from shapely.geometry import Polygon

LENGTH = 1e-5  # mm: the file's own decimals
AREA = 2e-3  # mm² for each mm of outline: arcs within 0.005 mm lie on both sides
FLATTEN = 1e-4  # mm, of arcs when measured


def area_of(entity):
    """The area in a closed polyline; its last point may miss the first by a rounding."""
    points = [(p.x, p.y) for p in path.make_path(entity).flattening(FLATTEN)]
    assert math.dist(points[0], points[-1]) < 1e-9, "open"
    return Polygon(points[:-1])


def main(file, expected_file):
    expected = json.load(open(expected_file, encoding="utf-8"))
    document = ezdxf.readfile(file)
    faults = document.audit()
    for fault in faults.errors + faults.fixes:
        print(f"audit: {fault.message}")
    space = document.modelspace()
    layers = {entity.dxf.layer for entity in space}
    cut = [area_of(entity) for entity in space.query('POLYLINE[layer=="CUT"]')]
    area = Polygon()
    for outline in cut:
        area = area.symmetric_difference(outline)
    panel = [Polygon([(p.x, p.y) for p in e.points()]) for e in space.query('POLYLINE[layer=="PANEL"]')]
    holes = [(c.dxf.center.x, c.dxf.center.y, 2 * c.dxf.radius) for c in space.query('CIRCLE[layer=="HOLES"]')]

    off = abs(area.area - expected["open_area"])
    length = sum(outline.length for outline in cut)
    width, height = expected["panel"]
    checks = {
        "audit": not faults.errors and not faults.fixes,
        "units": document.units == ezdxf.units.MM,
        "layers": layers <= {"CUT", "HOLES", "PANEL"},
        "closed": all(e.is_closed for e in space.query("POLYLINE")),
        "rings": len(cut) == expected["rings"],
        "valid": all(outline.is_valid for outline in cut),
        "area": off <= AREA * length,
        "panel": len(panel) == 1 and all(
            abs(a - b) <= LENGTH for a, b in zip(panel[0].bounds, (0, 0, width, height))
        ),
        # By place: rounding may swap two that stand above each other.
        "holes": len(holes) == len(expected["holes"]) and all(
            min(math.dist(a, b) for b in holes) <= LENGTH for a in expected["holes"]
        ),
    }
    print(
        f"{len(cut)} outlines, {len(holes)} holes, open area {area.area:.3f} mm², off by {off:.4f} mm² "
        f"on {length:.0f} mm of outline; ezdxf {ezdxf.__version__}"
    )
    for name, holds in checks.items():
        if not holds:
            print(f"{name} does not hold")
    return not all(checks.values())


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:3]))
