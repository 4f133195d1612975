"""Measures a template PDF with two readers that share no code with its writer.

    measure_pdf.py FILE.pdf EXPECTED.json

EXPECTED holds, for one page, its size in points and what must stand on it, in
millimetres from the page's lower-left corner: straight lines, circles, and the
end points of the curves that are sawn. Each is looked for among the paths that
PyMuPDF and pdfium read from the page; the nearest must be within 0.01 mm. The
page's print scaling is read too. Prints the worst miss of each kind for each
reader; exit code 1 when any is too large.
"""

import ctypes
import json
import sys

import numpy
import pymupdf
import pypdfium2
import pypdfium2.raw as pdfium

TOLERANCE = 0.01
MM = 25.4 / 72


def read_pymupdf(file, number):
    """Page size and paths as lists of (kind, points) in mm, y up."""
    page = pymupdf.open(file)[number]
    height = page.mediabox.height

    def mm(p):
        return (p.x * MM, (height - p.y) * MM)

    paths = []
    for drawing in page.get_drawings():
        segments = []
        for item in drawing["items"]:
            if item[0] == "l":
                segments.append(("l", [mm(item[1]), mm(item[2])]))
            elif item[0] == "c":
                segments.append(("c", [mm(p) for p in item[1:5]]))
            elif item[0] == "re":
                r = item[1]
                corners = [mm(p) for p in (r.tl, r.tr, r.br, r.bl, r.tl)]
                segments += [("l", [a, b]) for a, b in zip(corners, corners[1:])]
            elif item[0] == "qu":
                q = item[1]
                corners = [mm(p) for p in (q.ul, q.ur, q.lr, q.ll, q.ul)]
                segments += [("l", [a, b]) for a, b in zip(corners, corners[1:])]
        paths.append(segments)
    return (page.mediabox.width, height), paths


def read_pdfium(file, number):
    """The same, read by pdfium."""
    page = pypdfium2.PdfDocument(file)[number]
    paths = []
    for item in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH], max_depth=4):
        matrix = item.get_matrix()
        segments, start, pen, handles = [], None, None, []
        for index in range(pdfium.FPDFPath_CountSegments(item.raw)):
            segment = pdfium.FPDFPath_GetPathSegment(item.raw, index)
            x, y = ctypes.c_float(), ctypes.c_float()
            pdfium.FPDFPathSegment_GetPoint(segment, x, y)
            p = tuple(v * MM for v in matrix.on_point(x.value, y.value))
            kind = pdfium.FPDFPathSegment_GetType(segment)
            if kind == pdfium.FPDF_SEGMENT_MOVETO:
                start = pen = p
            elif kind == pdfium.FPDF_SEGMENT_LINETO:
                segments.append(("l", [pen, p]))
                pen = p
            elif kind == pdfium.FPDF_SEGMENT_BEZIERTO:
                handles.append(p)
                if len(handles) == 3:
                    segments.append(("c", [pen, *handles]))
                    pen, handles = p, []
            if pdfium.FPDFPathSegment_GetClose(segment) and pen != start:
                segments.append(("l", [pen, start]))
                pen = start
        paths.append(segments)
    return page.get_mediabox()[2:], paths


def extremes(segments):
    """Tight bounding box of a path; curves are sampled finely."""
    points = []
    for kind, p in segments:
        p = numpy.array(p)
        if kind == "l":
            points.append(p)
        else:
            t = numpy.linspace(0, 1, 257)[:, None]
            curve = (1 - t) ** 3 * p[0] + 3 * t * (1 - t) ** 2 * p[1] + 3 * t**2 * (1 - t) * p[2] + t**3 * p[3]
            points.append(curve)
    points = numpy.concatenate(points)
    return numpy.concatenate([points.min(axis=0), points.max(axis=0)])


def misses(paths, expected):
    """Worst distance between what is expected and the nearest that was read."""
    lines = numpy.array([[*p[0], *p[1]] for path in paths for kind, p in path if kind == "l"])
    both = numpy.concatenate([lines, lines[:, [2, 3, 0, 1]]])
    round_paths = [path for path in paths if path and any(kind == "c" for kind, _ in path)]
    boxes = numpy.array([extremes(path) for path in round_paths])
    ends = numpy.array([p[-1] for path in paths for kind, p in path if kind == "c"])

    def nearest(pool, wanted):
        return float(numpy.abs(pool - numpy.array(wanted)).max(axis=1).min())

    out = {name: nearest(both, line) for name, line in expected["lines"].items()}
    for name, (x, y, d) in expected["circles"].items():
        out[name] = nearest(boxes, [x - d / 2, y - d / 2, x + d / 2, y + d / 2])
    out["cut lines"] = max(nearest(ends, p) for p in expected["curve_ends"])
    return out


def main(file, expected_file):
    with open(expected_file, encoding="utf-8") as handle:
        expected = json.load(handle)
    failed = False
    preferences = pymupdf.open(file).xref_get_key(pymupdf.open(file).pdf_catalog(), "ViewerPreferences")[1]
    if "/PrintScaling/None" not in preferences.replace(" ", ""):
        print(f"print scaling is not off: {preferences}")
        failed = True
    for reader in (read_pymupdf, read_pdfium):
        size, paths = reader(file, expected["page"])
        off = max(abs(a - b) for a, b in zip(size, expected["size_pt"]))
        found = misses(paths, expected)
        worst = max(found, key=found.get)
        print(f"{reader.__name__}: page off by {off:.5f} pt, {len(found)} measures, worst {worst} by {found[worst]:.5f} mm")
        failed |= off > 1e-3 or found[worst] > TOLERANCE
    return failed


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:3]))
