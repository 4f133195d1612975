"""What a handy person would script from general-purpose libraries to check a face.

    scripted_check.py --bare FILE          islands and thin wood, as JSON
    scripted_check.py FILE                 the whole job, as JSON
    scripted_check.py --report FILE PDF    the whole job and its drawing at true size

`scripted_read.py` reads the drawing and lays it in the panel's window. `bare` stops
at islands and at what a negative buffer loses of the wood. `check` does the job of
`fretgrin check`: islands, weak bridges with width, free length, direction to the grain and the
width they need, slots, turns too tight for each blade of the drawer, an entry
hole for every opening, and the line to saw. reportlab draws it.

Written for speed where that costs nothing: numpy and shapely's array functions
for all that is done at every point, chords no finer than the work needs, nothing
done twice, no library loaded before it is used.
"""

import json
import math
import sys

import numpy
import shapely
from scripted_read import CHORD, PANEL, lay, pieces, read
from shapely.geometry import Polygon, box

THICKNESS = 15.875
THIN = 3.0  # mm; below this the bare script calls wood thin
MM = 72 / 25.4
INCH = 25.4

# The drawer: width and thickness of the blade, inches; a flat blade's kerf is
# 0.006 in more than its thickness.
FLAT = {"flat-2/0": (0.022, 0.010), "flat-3": (0.032, 0.014), "flat-5": (0.038, 0.016), "flat-7": (0.045, 0.017)}
SPIRAL = {"spiral-2": 0.038}
BLADE = "flat-5"
LINE = 0.25  # mm the sawn line may leave the drawn one
LEAST_TURN = 0.2  # rad; kinks below it are nothing
DRILL = 3 / 64 * INCH  # the smallest that lets the blade through
RIM = 0.1  # mm of room round the drill

# Strength of the wood, MPa: one board in twenty is weaker, and 1.5 for a hand push.
ALONG = 7500 * 0.00689476 * (1 - 1.645 * 0.16) / 1.5
ACROSS = 220 * 0.00689476 * (1 - 1.645 * 0.25) / 1.5
SHEAR = 990 * 0.00689476 * (1 - 1.645 * 0.14) / 1.5
PUSH = 20.0  # N
FLOORS = (3.0, 6.0, 9.525)  # mm: along the grain, across it, across it and long
CAP = 2.5  # times the floor: past it, wider is no cure
LONGEST = 40.0  # mm; a longer bar needs no more


def islands_of(openings):
    return [Polygon(hole) for opening in openings for hole in opening.interiors if Polygon(hole).area > 0.1]


def bare(file):
    """Openings, islands, thin wood: where a short script stops."""
    openings = pieces(lay(read(file)))
    wood = box(0, 0, *PANEL).difference(shapely.unary_union(openings))
    sound = wood.buffer(-THIN / 2).buffer(THIN / 2 + 1e-3)
    thin = [p for p in pieces(wood.difference(sound)) if p.area > 0.2]
    return openings, islands_of(openings), thin


class Outlines:
    """Every ring of some areas as one array of points, the area on the left."""

    def __init__(self, areas, step=None):
        areas = shapely.orient_polygons(numpy.array(areas))
        if step:
            # Points as even as can be: none that says nothing, none far from the next.
            areas = shapely.segmentize(shapely.simplify(areas, 0.005), step)
        rings = shapely.get_rings(areas)
        rings = rings[shapely.length(rings) > 0.1]  # dust of the overlays
        # Repeated points have no direction.
        coords, ring = shapely.get_coordinates(shapely.remove_repeated_points(rings, 1e-4), return_index=True)
        last = numpy.append(ring[1:] != ring[:-1], True)  # closing points
        self.at, self.ring = coords[~last], ring[~last]
        begin = numpy.flatnonzero(numpy.append(True, self.ring[1:] != self.ring[:-1]))
        end = numpy.append(begin[1:], len(self.ring)) - 1
        index = numpy.arange(len(self.ring))
        self.next, self.before = index + 1, index - 1
        self.next[end], self.before[begin] = begin, end
        self.begin, self.count = begin, end - begin + 1
        edge = self.at[self.next] - self.at
        self.length = numpy.hypot(*edge.T)
        self.way = edge / self.length[:, None]
        # Distance along the ring, and round it.
        self.along = numpy.cumsum(self.length) - self.length
        self.along -= numpy.repeat(self.along[begin], self.count)
        self.round = numpy.repeat(numpy.add.reduceat(self.length, begin), self.count)

    def turning(self):
        """Turn at every point, radians, left positive."""
        a, b = self.way[self.before], self.way
        return numpy.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1))


def across(lines, reach):
    """From every point straight into the area: how far it is to the other side,
    no farther than `reach`, and which edge is met there."""
    inward = lines.way + lines.way[lines.before]
    inward = numpy.column_stack((-inward[:, 1], inward[:, 0]))
    inward /= numpy.maximum(numpy.hypot(*inward.T), 1e-9)[:, None]
    ends = lines.at + reach * inward
    boxes = shapely.box(*numpy.minimum(lines.at, ends).T, *numpy.maximum(lines.at, ends).T)
    there = lines.at[lines.next]
    edges = shapely.box(*numpy.minimum(lines.at, there).T, *numpy.maximum(lines.at, there).T)
    # The tree finds edges near a ray; crossing thousands at once is numpy's work.
    ray, edge = shapely.STRtree(edges).query(boxes)
    own = (edge == ray) | (edge == lines.before[ray])
    ray, edge = ray[~own], edge[~own]
    # Where ray and edge cross: at + t · inward = start + u · way.
    gap, way, into = lines.at[edge] - lines.at[ray], lines.way[edge], inward[ray]
    cross = into[:, 0] * way[:, 1] - into[:, 1] * way[:, 0]
    cross[numpy.abs(cross) < 1e-9] = 1e-9
    t = (gap[:, 0] * way[:, 1] - gap[:, 1] * way[:, 0]) / cross
    u = (gap[:, 0] * into[:, 1] - gap[:, 1] * into[:, 0]) / cross
    met = (t > 0) & (t < reach) & (u >= 0) & (u <= lines.length[edge])
    ray, edge, t = ray[met], edge[met], t[met]
    width, other = numpy.full(len(lines.at), numpy.inf), numpy.zeros(len(lines.at), dtype=int)
    nearest_last = numpy.argsort(-t)
    width[ray[nearest_last]], other[ray[nearest_last]] = t[nearest_last], edge[nearest_last]
    return width, other


def is_tip(lines, width, other, i):
    """Whether a narrow place only closes off a tip: nowhere on the shorter way round
    from bank to bank is it wider than here."""
    j = other[i]
    if lines.ring[i] != lines.ring[j]:
        return False
    begin = numpy.searchsorted(lines.begin, i, side="right") - 1
    begin, count = lines.begin[begin], lines.count[begin]
    ahead, back = (j - i) % count, (i - j) % count
    start, length = (i, ahead) if ahead <= back else (j, back)
    path = begin + (start - begin + numpy.arange(1, length)) % count
    within = (other[path] - start) % count < length
    return not numpy.any(within & (lines.ring[other[path]] == lines.ring[i]) & (width[path] > 1.1 * width[i]) & (width[path] < numpy.inf))


def necks(lines, reach, needs):
    """Narrow places below what they need, worst first: the line across, its width,
    the length over which the place is no more than a quarter wider, and what it
    needs. A width that only shrinks towards a tip is none."""
    width, other = across(lines, reach)
    low = (width <= width[lines.before]) & (width <= width[lines.next]) & (width < reach)
    low = numpy.flatnonzero(low)
    low = low[(lines.way[low] * lines.way[other[low]]).sum(axis=1) < -0.5]
    low = numpy.array([i for i in low if not is_tip(lines, width, other, i)], dtype=int)
    if len(low) == 0:
        return []
    judged = []
    for i, (a, b) in zip(low, feet(lines, low, other[low])):
        wide, grain = math.dist(a, b), math.atan2(abs(b[1] - a[1]), abs(b[0] - a[0]))
        # A cut from a ring to itself parts the wood: what is beyond hangs on it.
        hangs = lines.ring[i] == lines.ring[other[i]]
        # Wide enough however long it is: its length need not be known.
        if wide >= needs(grain, LONGEST, hangs):
            continue
        banks = bank(lines, i, other[i]), bank(lines, other[i], i)
        bars = stretch(lines, *banks, wide), stretch(lines, *reversed(banks), wide)
        free = sum(lines.length[bar].sum() for bar in bars) / 2
        asked = needs(grain, free, hangs)
        if wide < asked:
            judged.append((wide / asked, i, bars, {"x_mm": (a[0] + b[0]) / 2, "y_mm": (a[1] + b[1]) / 2, "width_mm": wide,
                           "needed_mm": asked, "grain_deg": math.degrees(grain), "free_length_mm": free}))
    # The same bar is met from both banks and at every small dip of it.
    taken, found = numpy.zeros(len(lines.at), dtype=bool), []
    for _, i, bars, neck in sorted(judged, key=lambda one: one[:2]):
        if not (taken[i] or taken[other[i]]):
            found.append(neck)
        for bar in bars:
            taken[bar] = True
    return found


def bank(lines, i, j):
    """The points of a ring about `i` that may belong to a bar between it and `j`, and
    where `i` is among them: up to `LONGEST` either way, half way to `j` on the same ring."""
    ring = numpy.searchsorted(lines.begin, i, side="right") - 1
    begin, count = lines.begin[ring], lines.count[ring]
    both = [begin + (i - begin + step * numpy.arange(1, count // 2 + 1)) % count for step in (-1, 1)]
    most = min(LONGEST, lines.round[i] / 2)
    if lines.ring[i] == lines.ring[j]:
        apart = abs(lines.along[i] - lines.along[j])
        most = min(most, min(apart, lines.round[i] - apart) / 2)
    back, ahead = (side[: numpy.searchsorted(numpy.cumsum(lines.length[side]), most)] for side in both)
    return numpy.concatenate((back[::-1], [i], ahead)), len(back)


def stretch(lines, near, far, wide):
    """The points of the bank `near` about its middle that are no more than a quarter
    farther from the bank `far` than it."""
    points, middle = near
    across = shapely.linestrings(lines.at[far[0]]) if len(far[0]) > 1 else shapely.points(lines.at[far[0][0]])
    wider = shapely.distance(shapely.points(lines.at[points]), across) > 1.25 * wide
    before, after = numpy.flatnonzero(wider[:middle]), numpy.flatnonzero(wider[middle + 1 :])
    first = before[-1] + 1 if len(before) else 0
    last = middle + 1 + (after[0] if len(after) else len(points))
    return points[first:last]


def feet(lines, i, j):
    """The shortest line between the banks near two points: the rays stand square to
    one bank only."""
    def few(i):
        a, c = lines.before[i], lines.next[i]
        return shapely.linestrings(lines.at[numpy.stack((lines.before[a], a, i, c, lines.next[c]), axis=1)])

    return shapely.get_coordinates(shapely.shortest_line(few(i), few(j))).reshape(-1, 2, 2).tolist()


def needed(grain, free, hangs):
    """Width a bridge needs, mm: what practice asks for at this angle to the grain
    and length, or what a push out of the panel, in it, or in shear asks for."""
    sin, cos = math.sin(grain), math.cos(grain)
    short = math.hypot(FLOORS[0] * cos, FLOORS[1] * sin)
    long = math.hypot(FLOORS[0] * cos, FLOORS[2] * sin)
    floor = short + (long - short) * min(1, max(0, free / 6 - 1))
    # Hankinson's formula.
    strength = ALONG * ACROSS / (ALONG * sin**1.5 + ACROSS * cos**1.5)
    # Held at one end, a bar bends eight times as much and shears twice.
    moment = PUSH * (free + short) / (1 if hangs else 8)
    shear = SHEAR * (1 - 0.82 * sin * sin)
    push = (
        6 * moment / (strength * THICKNESS**2),
        math.sqrt(6 * moment / (strength * THICKNESS)),
        (1.5 if hangs else 0.75) * PUSH / (shear * THICKNESS),
    )
    return min(max(floor, *push), CAP * floor)


def bridges_of(openings):
    """Narrow places of the wood that are weaker than they should be. The grain runs up."""
    wood = pieces(box(0, 0, *PANEL).difference(shapely.multipolygons(openings)))
    return necks(Outlines(wood, 0.5), CAP * FLOORS[2], needed)


def blades():
    """Each blade's kerf and the radius of the path it follows, mm."""
    for name, (width, thickness) in FLAT.items():
        w, c = width * INCH, 0.006 * INCH
        yield name, thickness * INCH + c, max((w * w + c * c) / (4 * c), (3 - 2 * math.sqrt(2)) * w * w / c)
    for name, kerf in SPIRAL.items():
        yield name, kerf * INCH, 0.0


def turns(lines, turning, kerf, radius):
    """Turns a blade does not follow: points where the outline bends tighter than it,
    put together, and each such bend laid against an arc that may cut the corner by
    the line tolerance."""
    found = []
    # Left turns are corners of the opening, the blade goes round inside them;
    # right turns are tips of wood, it goes round outside.
    for side, least in ((1, max(radius, 0) + kerf / 2), (-1, radius - kerf / 2)):
        if least <= 0:
            continue
        # A corner between long sides turns on the spot.
        room = numpy.minimum((lines.length + lines.length[lines.before]) / 2, CHORD)
        tight = numpy.flatnonzero(side * turning * least > room)
        if len(tight) == 0:
            continue
        # Bends with no room between them for such an arc are one.
        join = math.sqrt(2 * LINE * least)
        gap = lines.along[tight[1:]] - lines.along[tight[:-1]]
        fresh = (lines.ring[tight[1:]] != lines.ring[tight[:-1]]) | (gap > join)
        first = numpy.append(0, numpy.flatnonzero(fresh) + 1)
        last = numpy.append(first[1:], len(tight)) - 1
        angle = numpy.add.reduceat(side * turning[tight], first)
        own = (lines.along[tight[last]] - lines.along[tight[first]]) / angle
        sharp = 1 / numpy.cos(numpy.minimum(angle, 3.1) / 2) - 1
        hard = ((least - own) * sharp > LINE) & (angle > LEAST_TURN)
        for run in numpy.flatnonzero(hard):
            x, y = lines.at[tight[(first[run] + last[run]) // 2]]
            # The path that cuts the corner by the tolerance.
            path = max(0.0, own[run] + LINE / sharp[run] - side * kerf / 2)
            found.append({"x_mm": x, "y_mm": y, "angle_deg": math.degrees(angle[run]), "inside": side > 0, "radius_mm": path})
    return found


def check(file):
    """The whole job."""
    openings = pieces(lay(read(file)))
    outlines = Outlines(openings)
    turning = outlines.turning()
    # A hole where the opening has most room.
    room = shapely.maximum_inscribed_circle(numpy.array(openings), tolerance=0.05)
    radii, centres = shapely.length(room), shapely.get_coordinates(room)[::2]
    kerfs = [kerf for _, kerf, _ in blades()]
    small = 2 * radii < max(kerfs)
    slots = [{"width_mm": 2 * r, "x_mm": x, "y_mm": y} for r, (x, y) in zip(radii[small], centres[small])]
    if not small.all():
        slots += necks(Outlines(numpy.array(openings)[~small], CHORD), max(kerfs), lambda *_: max(kerfs))
    drawer, hard = [], []
    for name, kerf, radius in blades():
        tight = turns(outlines, turning, kerf, radius)
        hard = tight if name == BLADE else hard
        drawer.append({"blade": name, "tight_turns": len(tight), "narrow_slots": int(sum(slot["width_mm"] < kerf for slot in slots))})
    kerf = {name: kerf for name, kerf, _ in blades()}[BLADE]
    return {
        "openings": openings,
        "islands": islands_of(openings),
        "bridges": bridges_of(openings),
        "turns": hard,
        "slots": [slot for slot in slots if slot["width_mm"] < kerf],
        "blades": drawer,
        "holes": [{"x_mm": x, "y_mm": y, "fits": bool(r >= DRILL / 2 + RIM)} for r, (x, y) in zip(radii, centres)],
        "length_mm": float(outlines.length.sum()),
    }


def told(found):
    """The findings as JSON."""
    islands = [{"area_mm2": i.area, "x_mm": i.representative_point().x, "y_mm": i.representative_point().y} for i in found["islands"]]
    rounded = json.loads(json.dumps(found | {"islands": islands, "openings": len(found["openings"])}), parse_float=lambda n: round(float(n), 3))
    return json.dumps(rounded, indent=2)


def draw(found, out):
    """A sheet at true size with every finding marked, and a sheet with the list."""
    from reportlab.pdfgen import canvas

    page = canvas.Canvas(out, pagesize=(PANEL[0] * MM, PANEL[1] * MM))
    for shapes, colour in ((found["openings"], (0, 0, 0)), (found["islands"], (1, 0, 0))):
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
    lines = [f"{len(found['openings'])} openings, {found['length_mm']:.0f} mm to saw"]
    lines += [f"{blade['blade']}: {blade['tight_turns']} turns too tight, {blade['narrow_slots']} slots" for blade in found["blades"]]
    for kind, colour in (("bridges", (1, 0, 0)), ("turns", (0, 0, 1)), ("slots", (0.8, 0, 0.8)), ("holes", (0, 0.5, 0))):
        page.setStrokeColorRGB(*colour)
        page.setFillColorRGB(*colour)
        for number, place in enumerate(found[kind], 1):
            x, y = place["x_mm"] * MM, place["y_mm"] * MM
            page.circle(x, y, (DRILL / 2 if kind == "holes" else 1.0) * MM)
            if kind != "holes":
                page.setFont("Helvetica", 4)
                page.drawString(x + 3, y + 1, f"{kind[0]}{number}")
                said = ", ".join(f"{key} {value:.1f}" for key, value in place.items())
                lines.append(f"{kind[0]}{number}: {said}")
    page.showPage()
    text = page.beginText(20, PANEL[1] * MM - 30)
    text.setFont("Helvetica", 5)
    for line in lines:
        if text.getY() < 20:
            page.drawText(text)
            page.showPage()
            text = page.beginText(20, PANEL[1] * MM - 30)
            text.setFont("Helvetica", 5)
        text.textLine(line)
    page.drawText(text)
    page.showPage()
    page.save()


if __name__ == "__main__":
    if sys.argv[1] == "--bare":
        _, islands, thin = bare(sys.argv[2])
        places = lambda shapes: [[round(n, 3) for n in shape.centroid.coords[0]] for shape in shapes]
        print(json.dumps({"islands": places(islands), "thin": places(thin)}))
    elif sys.argv[1] == "--report":
        draw(check(sys.argv[2]), sys.argv[3])
    else:
        print(told(check(sys.argv[1])))
