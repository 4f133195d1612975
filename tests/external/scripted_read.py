"""A drawing read as a handy person would: svgelements gives the paths, which are
flattened, built into areas with shapely and laid in the panel's window."""

import numpy
import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon
from svgelements import SVG, Close, Line, Move, Path, Shape

PANEL = (133.35, 254.0)
CLEAR = 22.225
WINDOW = (PANEL[0] - 2 * CLEAR, PANEL[1] - 2 * CLEAR)
CHORD = 0.25  # mm on the panel: within 0.01 mm of a curve of 1 mm radius


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
    return shapely.unary_union(lines).buffer(path.stroke_width / 2, cap_style="round" if caps == "round" else "flat")


def filled(path, element, chord):
    """What a path fills: outlines alternate, or by direction where the rule says so."""
    rings = [Polygon(points) for points in loops(path, chord) if len(points) > 3]
    rings.sort(key=lambda ring: -ring.area)
    inside = Polygon()
    for ring in rings:
        solid = ring if ring.is_valid else shapely.make_valid(ring)
        if element.values.get("fill-rule") == "evenodd":
            inside = inside.symmetric_difference(solid)
        elif ring.exterior.is_ccw == rings[0].exterior.is_ccw or not inside.intersects(solid):
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
    chord = CHORD * max(drawing.width / WINDOW[0], drawing.height / WINDOW[1])
    for element in drawing.elements():
        if not isinstance(element, Shape):
            continue
        path = abs(Path(element))  # its transforms carried out
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
    scale = min(WINDOW[0] / (x1 - x0), WINDOW[1] / (y1 - y0))
    moved = affinity.translate(area, -(x0 + x1) / 2, -(y0 + y1) / 2)
    return affinity.translate(affinity.scale(moved, scale, -scale, origin=(0, 0)), PANEL[0] / 2, PANEL[1] / 2)


def pieces(area):
    return [p for p in getattr(area, "geoms", [area]) if isinstance(p, Polygon) and not p.is_empty]


def pieces(area):
    return [p for p in getattr(area, "geoms", [area]) if isinstance(p, Polygon) and not p.is_empty]
