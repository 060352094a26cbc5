"""Reads written sheets with programs that did not write them: all that a sheet says, but for its measures.

    python read_sheets.py FOLDER [FOLDER ...]
    python read_sheets.py --refuse FOLDER    (sheets that were spoilt: every file must be refused)

PDF   qpdf --check finds nothing at all to say; pypdf (strictly) and poppler (pdftotext, pdfinfo, pdffonts, pdfdetach) and qpdf
      agree, and two of them each are asked for the text, the boxes, the faces, the attachment and the wish not to be scaled.
SVG   expat finds it well-formed; Chromium opens it alone in a window and draws it at its true size: the end strokes of the bars are
      measured in its picture.
"""

import hashlib
import json
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pypdf

import measure_sheets

MM = 25.4 / 72
# Dots of the picture to one of Chromium's own, of which 96 go to the inch.
SHARPER = 4
CHROMIUM_DPI = 96 * SHARPER
CAUTION = "Never let go of the string"
PRINT_NOTES = ("Print at 100 %", "For one printer at 100 %")
PAPERS = measure_sheets.PAPERS

passed, failures, refused = 0, [], set()


def check(holds, path, what):
    global passed
    if holds:
        passed += 1
    else:
        failures.append(f"{path}: {what}")
        refused.add(path)


def run(*command):
    return subprocess.run(command, capture_output=True, text=True, errors="replace", check=False)


def plain(text):
    return " ".join(text.split())


def read_pdf(path, temporary):
    strict = run("qpdf", "--check", str(path))
    check(strict.returncode == 0 and "No syntax or stream encoding errors" in strict.stdout, path, f"qpdf: {strict.stdout}{strict.stderr}")
    check("warning" not in (strict.stdout + strict.stderr).lower(), path, f"qpdf warns: {strict.stdout}{strict.stderr}")
    reader = pypdf.PdfReader(path, strict=True)
    count = len(reader.pages)

    boxes = run("pdfinfo", "-box", "-f", "1", "-l", str(count), str(path)).stdout
    for number, page in enumerate(reader.pages, 1):
        # Text, by pypdf and by poppler.
        for name, text in (
            ("pypdf", page.extract_text()),
            ("pdftotext", run("pdftotext", "-f", str(number), "-l", str(number), str(path), "-").stdout),
        ):
            text = plain(text)
            for wanted in (f"sheet {number} of {count}" if count < 60 else "sheet", "Caution", CAUTION.split()[0]):
                check(wanted in text, path, f"page {number}: {name} reads no '{wanted}'")
            check(any(note in text for note in PRINT_NOTES), path, f"page {number}: {name} reads no print note")
        # Boxes, by pypdf and by poppler: all alike, and a kind of paper.
        size = [float(v) * MM for v in page.mediabox]
        check(any(abs(size[2] - w) < 1e-3 and abs(size[3] - h) < 1e-3 for w, h in PAPERS.values()), path, f"page {number}: {size} mm")
        for box in ("cropbox", "trimbox", "bleedbox", "artbox"):
            same = all(abs(float(a) - float(b)) < 1e-6 for a, b in zip(getattr(page, box), page.mediabox))
            check(same, path, f"page {number}: pypdf's {box} is not the page")
        found = re.findall(rf"Page\s+{number} (?:Media|Crop|Bleed|Trim|Art)Box:\s+(\S+)\s+(\S+)\s+(\S+)\s+(\S+)", boxes)
        check(len(found) == 5 and len(set(found)) == 1, path, f"page {number}: poppler's boxes {found}")
        if found:
            high = float(found[0][3]) * MM
            check(abs(high - size[3]) < 0.01, path, f"page {number}: poppler's page is {high} mm high")

    # Faces, by pypdf and by poppler: embedded, every one.
    listed = run("pdffonts", str(path)).stdout.splitlines()
    column = listed[0].index("emb") if listed else 0
    check(len(listed) > 2 and all(line[column : column + 3] == "yes" for line in listed[2:]), path, f"pdffonts: {listed[2:]}")
    for number, page in enumerate(reader.pages, 1):
        for name, font in page["/Resources"].get("/Font", {}).items():
            font = font.get_object()
            inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
            held = inner.get("/FontDescriptor", {})
            held = held.get_object() if hasattr(held, "get_object") else held
            check(any(key in held for key in ("/FontFile", "/FontFile2", "/FontFile3")), path, f"page {number}: pypdf finds {name} not embedded")

    # Attachment, by pypdf, qpdf and poppler: the same bytes, and those of the seal that stands beside them.
    by_pypdf = {name: contents[0] for name, contents in reader.attachments.items()}
    check(len(by_pypdf) >= 1, path, "pypdf finds no attachment")
    folder = Path(temporary) / f"{path.stem}-attached"
    folder.mkdir(exist_ok=True)
    run("pdfdetach", "-saveall", "-o", str(folder), str(path))
    by_poppler = {file.name: file.read_bytes() for file in folder.iterdir()}
    check(by_poppler == by_pypdf, path, f"poppler's attachments {list(by_poppler)} are not pypdf's {list(by_pypdf)}")
    for name, contents in by_pypdf.items():
        shown = subprocess.run(["qpdf", f"--show-attachment={name}", str(path)], capture_output=True, check=False)
        check(shown.stdout == contents, path, f"qpdf's attachment {name} is not pypdf's")
        check(b"layout" in contents and b"[bow]" in contents, path, f"{name} is no design")
        check_sum(path, reader, name, contents)

    # Viewer preferences, by pypdf and by qpdf.
    wishes = reader.trailer["/Root"].get("/ViewerPreferences", {})
    check(wishes.get("/PrintScaling") == "/None", path, "pypdf: the wish not to be scaled is missing")
    check(list(wishes.get("/Enforce", [])) == ["/PrintScaling"], path, "pypdf: the wish is not enforced")
    objects = json.loads(run("qpdf", "--json", "--json-key=qpdf", str(path)).stdout or "{}").get("qpdf", [{}, {}])[1]
    roots = [o["value"] for o in objects.values() if isinstance(o.get("value"), dict) and o["value"].get("/Type") == "/Catalog"]
    wish = roots[0].get("/ViewerPreferences", {}) if roots else {}
    if isinstance(wish, str):
        wish = objects.get(f"obj:{wish}", {}).get("value", {})
    check(wish.get("/PrintScaling") == "/None", path, f"qpdf: the wish not to be scaled is missing: {wish}")


def check_sum(path, reader, name, contents):
    """The sum that PDF keeps beside an attachment (ISO 32000-1, table 46)."""
    for item in reader.trailer["/Root"]["/Names"]["/EmbeddedFiles"]["/Names"]:
        item = item.get_object()
        if isinstance(item, dict) and item.get("/F") == name:
            kept = item["/EF"]["/F"].get_object().get("/Params", {}).get("/CheckSum")
            if kept is not None:
                kept = kept.original_bytes if hasattr(kept, "original_bytes") else bytes(kept)
                check(kept == hashlib.md5(contents).digest(), path, f"{name} is not what its sum says")


def read_svg(path, temporary):
    try:
        root = ElementTree.parse(path).getroot()
    except ElementTree.ParseError as error:
        check(False, path, f"expat: {error}")
        return
    check(root.tag == "{http://www.w3.org/2000/svg}svg", path, f"root is {root.tag}")
    texts = plain(" ".join(t.text or "" for t in root.iter("{http://www.w3.org/2000/svg}text")))
    check("Caution" in texts and any(note in texts for note in PRINT_NOTES), path, "cautions or print note missing")
    # The picture that Chromium draws, in which the bars stand where svgelements finds them in the file.
    sizes = [root.get(k, "") for k in ("width", "height")]
    check(all(size.endswith("mm") for size in sizes), path, f"not in millimetres: {sizes}")
    if not all(size.endswith("mm") for size in sizes):
        return
    width, height = (float(size.removesuffix("mm")) for size in sizes)
    bars = measure_sheets.svg_bars(path, height)
    picture = Path(temporary) / f"{path.stem}-chromium.png"
    window = f"{round(width / 25.4 * 96) + 40},{round(height / 25.4 * 96) + 40}"
    drawn = run(
        "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
        f"--user-data-dir={temporary}/profile-{path.stem}", "--hide-scrollbars", f"--force-device-scale-factor={SHARPER}",
        f"--window-size={window}", f"--screenshot={picture}", path.resolve().as_uri(),
    )
    check(picture.exists(), path, f"Chromium draws nothing: {drawn.stderr[-300:]}")
    if picture.exists():
        before = (measure_sheets.bars_true, measure_sheets.bars_wrong, len(measure_sheets.failures))
        measure_sheets.check_picture(f"{path} drawn by Chromium,", picture, height, bars, CHROMIUM_DPI, 0.08)
        true, wrong = measure_sheets.bars_true - before[0], measure_sheets.bars_wrong - before[1]
        more = measure_sheets.failures[before[2] :]
        check(true == 4 and wrong == 0 and not more, path, f"Chromium: {true} bars true, {wrong} wrong: {more}")


def main(arguments):
    refuse = arguments[:1] == ["--refuse"]
    files = 0
    with tempfile.TemporaryDirectory() as temporary:
        for number, folder in enumerate(arguments[1:] if refuse else arguments):
            inner = Path(temporary) / str(number)
            inner.mkdir()
            for path in sorted(Path(folder).glob("*.pdf")):
                files += 1
                try:
                    read_pdf(path, inner)
                except Exception as error:  # whatever a reader stumbles over, the file is not read
                    check(False, path, f"{type(error).__name__}: {error}")
            for path in sorted(Path(folder).glob("*.svg")):
                files += 1
                read_svg(path, inner)
    if refuse:
        kept = files - len(refused)
        print(f"spoilt: {len(refused)} of {files} files refused")
        return 0 if files and not kept else 1
    for failure in failures:
        print("FAILED", failure)
    print(f"{files} files: {passed} passed, {len(failures)} failed")
    return 1 if failures or not files else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
