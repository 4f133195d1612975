"""Measures the first page of a PDF with PyMuPDF, in millimetres, y up.

    measure.py FILE.pdf

Prints JSON: the page's size, the boxes of the panel's outline and of the cut
lines where the file has those layers, and the lengths of long straight lines.
"""

import json
import sys

import pymupdf

MM = 25.4 / 72
STEPS = 200  # places looked at along a curve

page = pymupdf.open(sys.argv[1])[0]
height = page.mediabox.height


def points(item):
    """Places along a segment, close enough together for its box."""
    if item[0] == "c":
        a, b, c, d = item[1:5]
        for i in range(STEPS + 1):
            t = i / STEPS
            u = 1 - t
            yield a * (u**3) + b * (3 * u * u * t) + c * (3 * u * t * t) + d * (t**3)
    elif item[0] == "l":
        yield from item[1:3]
    elif item[0] == "re":
        yield from (item[1].tl, item[1].br)
    elif item[0] == "qu":
        yield from (item[1].ul, item[1].ur, item[1].ll, item[1].lr)


def box(layer):
    """The box of all that is drawn on a layer."""
    places = [p for d in drawings if d.get("layer") == layer for item in d["items"] for p in points(item)]
    if not places:
        return None
    xs, ys = [p.x * MM for p in places], [(height - p.y) * MM for p in places]
    return [min(xs), min(ys), max(xs), max(ys)]


drawings = page.get_drawings()
lines = [item for d in drawings for item in d["items"] if item[0] == "l"]
lengths = [abs(b.x - a.x + 1j * (b.y - a.y)) * MM for _, a, b in (line[:3] for line in lines)]
print(json.dumps({
    "page": [page.mediabox.width * MM, height * MM],
    "panel": box("Panel outline"),
    "cut": box("Cut lines"),
    "lines": sorted((x for x in lengths if x > 90), reverse=True),
}))
