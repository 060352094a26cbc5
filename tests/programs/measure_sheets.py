"""Measures written sheets with programs that did not write them.

    python measure_sheets.py FOLDER [FOLDER ...]
    python measure_sheets.py --refuse FOLDER    (sheets of a wrong scale: every bar must be found wrong)

In every folder each PDF and SVG must say of itself, to programs that share no code with the writers:

PDF   pypdf reads the page size, the four scale bars (by the tag of their marked content), PrintScaling, the attached
      design; pdfplumber finds the bars' lines again; pdffonts sees every face embedded; qpdf finds no error;
      pdftoppm draws the page at 600 dpi and the end strokes of the bars are measured in the picture.
SVG   ElementTree reads size, view box and design; svgelements measures the bars (by the id of their group);
      rsvg-convert draws the page at 600 dpi and the end strokes are measured in the picture.

All files of one folder must hold the same design; when the folder has a design.toml, they must hold that one.
"""

import base64
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import numpy
import pdfplumber
import pypdf
import svgelements
from PIL import Image

# name of the group or tag, length in mm, direction
BARS = [
    ("bar-100-mm-across", 100.0, 0),
    ("bar-4-in-across", 101.6, 0),
    ("bar-100-mm-up", 100.0, 1),
    ("bar-4-in-up", 101.6, 1),
]
# ISO 216 A4 and A3; US Letter, Legal and Tabloid.
PAPERS = {
    "A4": (210.0, 297.0),
    "Letter": (8.5 * 25.4, 11 * 25.4),
    "A3": (297.0, 420.0),
    "Legal": (8.5 * 25.4, 14 * 25.4),
    "Tabloid": (11 * 25.4, 17 * 25.4),
}
MM = 25.4 / 72
DPI = 600
# A dot of the picture is 0.042 mm; the middle of a stroke is found to half of that at each end.
PICTURE_TOLERANCE = 0.05
TOLERANCE = 0.01

passed, failures = 0, []
bars_true, bars_wrong = 0, 0


def check(holds, what):
    global passed
    if holds:
        passed += 1
    else:
        failures.append(what)


def check_bar(holds, what):
    global bars_true, bars_wrong
    bars_true, bars_wrong = bars_true + bool(holds), bars_wrong + (not holds)
    check(holds, what)


def run(*command):
    return subprocess.run(command, capture_output=True, text=True, check=False)


def is_paper(width, height):
    return any(abs(width - w) < 1e-3 and abs(height - h) < 1e-3 for w, h in PAPERS.values())


def pdf_strokes(page, tag):
    """Straight strokes within marked content of that tag, as ((x, y), (x, y)) in mm from the lower left corner."""
    open_tags, last, strokes = [], None, []
    matrix, kept = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), []

    def place(x, y):
        a, b, c, d, e, f = matrix
        return ((a * float(x) + c * float(y) + e) * MM, (b * float(x) + d * float(y) + f) * MM)

    for operands, operator in pypdf.generic.ContentStream(page.get_contents(), page.pdf).operations:
        if operator in (b"BMC", b"BDC"):
            open_tags.append(str(operands[0]).lstrip("/"))
        elif operator == b"EMC":
            open_tags.pop()
        elif operator == b"q":
            kept.append(matrix)
        elif operator == b"Q":
            matrix = kept.pop()
        elif operator == b"cm":
            a, b, c, d, e, f = (float(o) for o in operands)
            A, B, C, D, E, F = matrix
            matrix = (a * A + b * C, a * B + b * D, c * A + d * C, c * B + d * D, e * A + f * C + E, e * B + f * D + F)
        elif operator == b"m":
            last = place(*operands)
        elif operator == b"l":
            here = place(*operands)
            if tag in open_tags:
                strokes.append((last, here))
            last = here
    return strokes


def longest(strokes):
    return max(strokes, key=lambda s: abs(s[1][0] - s[0][0]) + abs(s[1][1] - s[0][1]), default=None)


def check_stroke(where, stroke, length, direction):
    if stroke is None:
        check(False, f"{where}: not found")
        return
    along = abs(stroke[1][direction] - stroke[0][direction])
    off = abs(stroke[1][1 - direction] - stroke[0][1 - direction])
    check_bar(abs(along - length) <= TOLERANCE and off <= 1e-3, f"{where}: {along:.4f} mm for {length} mm, {off:.4f} mm off")


def check_picture(where, picture, page_height, bars, dpi=DPI, tolerance=PICTURE_TOLERANCE):
    """Measures from the middle of the first to the middle of the last graduation stroke in a picture of the page.

    `bars` holds for every bar its stroke in mm (from the lower left corner) and the side on which graduations stand.
    """
    dark = numpy.asarray(Image.open(picture).convert("L")) < 128
    for (name, length, direction), stroke, side in bars:
        if stroke is None:
            continue
        (x0, y0), (x1, y1) = sorted(stroke)
        # 0.45 mm off the line: beyond the line's own ink, across all graduations.
        if direction == 0:
            row = dark[round((page_height - (y0 + side * 0.45)) / 25.4 * dpi)]
            start, end = x0, x1
        else:
            row = dark[:, round((x0 + side * 0.45) / 25.4 * dpi)][::-1]
            row_height = len(row) / dpi * 25.4
            start, end = (min(y0, y1) + row_height - page_height, max(y0, y1) + row_height - page_height)
        low, high = round((start - 0.4) / 25.4 * dpi), round((end + 0.4) / 25.4 * dpi)
        dots = numpy.flatnonzero(row[low:high])
        if len(dots) == 0:
            check(False, f"{where} {name}: no stroke in the picture")
            continue
        runs = numpy.split(dots, numpy.flatnonzero(numpy.diff(dots) > 1) + 1)
        measured = (runs[-1].mean() - runs[0].mean()) / dpi * 25.4
        check_bar(abs(measured - length) <= tolerance, f"{where} {name}: {measured:.3f} mm for {length} mm")
        count = {100.0: 101, 101.6: 33}[length]
        check(len(runs) == count, f"{where} {name}: {len(runs)} graduation strokes for {count}")


def graduation_side(strokes, main, direction):
    """On which side of the bar's line its graduations stand."""
    off = 1 - direction
    far = [s[1][off] - main[0][off] for s in strokes if s is not main] + [s[0][off] - main[0][off] for s in strokes]
    return 1 if max(far) > -min(far) else -1


def measure_pdf(path, temporary):
    checked = run("qpdf", "--check", str(path))
    check(checked.returncode == 0, f"{path}: qpdf: {checked.stdout}{checked.stderr}")
    fonts = run("pdffonts", str(path)).stdout.splitlines()
    check(len(fonts) > 2, f"{path}: no fonts")
    column = fonts[0].index("emb")
    for line in fonts[2:]:
        check(line[column : column + 3] == "yes", f"{path}: not embedded: {line}")

    reader = pypdf.PdfReader(path, strict=True)
    wishes = reader.trailer["/Root"]["/ViewerPreferences"]
    check(wishes["/PrintScaling"] == "/None", f"{path}: PrintScaling")
    check(list(wishes["/Enforce"]) == ["/PrintScaling"], f"{path}: Enforce")
    check(reader.metadata.title and reader.metadata.producer, f"{path}: title or producer missing")
    check("/CreationDate" not in reader.metadata and "/ModDate" not in reader.metadata, f"{path}: holds a clock's time")
    check(len(reader.attachments) == 1, f"{path}: {len(reader.attachments)} attachments")

    prefix = str(Path(temporary) / path.stem)
    drawn = run("pdftoppm", "-r", str(DPI), "-gray", str(path), prefix)
    check(drawn.returncode == 0, f"{path}: pdftoppm: {drawn.stderr}")
    pictures = sorted(Path(temporary).glob(f"{path.stem}-*.pgm"))
    check(len(pictures) == len(reader.pages), f"{path}: {len(pictures)} pictures for {len(reader.pages)} pages")
    with pdfplumber.open(path) as plumber:
        for number, (page, other) in enumerate(zip(reader.pages, plumber.pages), 1):
            where = f"{path} page {number}"
            left, low, right, high = (float(v) * MM for v in page.mediabox)
            check((left, low) == (0, 0) and is_paper(right, high), f"{where}: size {right:.4f} x {high:.4f} mm")
            bars = []
            for bar in BARS:
                name, length, direction = bar
                strokes = pdf_strokes(page, name)
                stroke = longest(strokes)
                check_stroke(f"{where} {name}", stroke, length, direction)
                if stroke is None:
                    continue
                bars.append((bar, stroke, graduation_side(strokes, stroke, direction)))
                (x0, y0), (x1, y1) = sorted(stroke)
                again = [
                    line
                    for line in other.lines
                    if abs(float(line["x0"]) * MM - min(x0, x1)) < TOLERANCE
                    and abs(float(line["x1"]) * MM - max(x0, x1)) < TOLERANCE
                    and abs(float(line["y0"]) * MM - min(y0, y1)) < TOLERANCE
                    and abs(float(line["y1"]) * MM - max(y0, y1)) < TOLERANCE
                ]
                check(len(again) == 1, f"{where} {name}: pdfplumber finds {len(again)} such lines")
            if number <= len(pictures):
                check_picture(f"{where} drawn by poppler,", pictures[number - 1], high, bars)
    return [content[0].decode() for content in reader.attachments.values()]


def svg_bars(path, height):
    """The bars that svgelements finds in a drawing, each checked; with their strokes and the side of their graduations."""
    per_mm = 96 / 25.4
    drawing = svgelements.SVG.parse(str(path), ppi=96)
    groups = {element.id: element for element in drawing.elements() if isinstance(element, svgelements.Group)}
    bars = []
    for bar in BARS:
        name, length, direction = bar
        strokes = []
        for element in groups[name].select() if name in groups else ():
            if isinstance(element, svgelements.Path):
                path_on_page = svgelements.Path(element)
                path_on_page.reify()
                for segment in path_on_page:
                    if isinstance(segment, svgelements.Line):
                        ends = (segment.start, segment.end)
                        strokes.append(tuple((p.x / per_mm, height - p.y / per_mm) for p in ends))
        stroke = longest(strokes)
        check_stroke(f"{path} {name}", stroke, length, direction)
        if stroke is not None:
            bars.append((bar, stroke, graduation_side(strokes, stroke, direction)))
    return bars


def measure_svg(path, temporary):
    root = ElementTree.parse(path).getroot()
    width, height = root.get("width"), root.get("height")
    check(width.endswith("mm") and height.endswith("mm"), f"{path}: not in mm")
    width, height = width.removesuffix("mm"), height.removesuffix("mm")
    check(root.get("viewBox") == f"0 0 {width} {height}", f"{path}: view box {root.get('viewBox')}")
    width, height = float(width), float(height)
    check(is_paper(width, height), f"{path}: size {width} x {height} mm")

    bars = svg_bars(path, height)

    picture = Path(temporary) / f"{path.stem}.png"
    drawn = run("rsvg-convert", "-d", str(DPI), "-p", str(DPI), "-b", "white", "-o", str(picture), str(path))
    check(drawn.returncode == 0, f"{path}: rsvg-convert: {drawn.stderr}")
    if drawn.returncode == 0:
        check_picture(f"{path} drawn by librsvg,", picture, height, bars)

    design = root.find(".//{urn:nockwright:sheet}design")
    check(design is not None, f"{path}: no design inside")
    if design is None:
        return []
    text = design.text or ""
    return [base64.b64decode(text).decode() if design.get("encoding") == "base64" else text]


def measure(folder):
    designs, files = [], 0
    with tempfile.TemporaryDirectory() as temporary:
        for path in sorted(Path(folder).glob("*.pdf")):
            designs += measure_pdf(path, temporary)
            files += 1
        for path in sorted(Path(folder).glob("*.svg")):
            designs += measure_svg(path, temporary)
            files += 1
    check(files >= 2, f"{folder}: {files} files to measure")
    check(len(designs) == files and len(set(designs)) == 1, f"{folder}: the files hold {len(set(designs))} designs")
    given = Path(folder) / "design.toml"
    if given.exists() and designs:
        check(designs[0] == given.read_bytes().decode(), f"{folder}: the design inside is not design.toml")


def main(arguments):
    refuse = arguments[:1] == ["--refuse"]
    for folder in arguments[1:] if refuse else arguments:
        measure(folder)
    if refuse:
        print(f"wrong scale: {bars_wrong} bars refused, {bars_true} taken for true")
        return 0 if bars_wrong and not bars_true else 1
    for failure in failures:
        print("FAILED", failure)
    print(f"{passed} passed, {len(failures)} failed")
    return 1 if failures or not passed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
