"""Copies sheets, each spoilt in one way: read_sheets.py must refuse every one.

    python spoil_sheets.py SOURCE_FOLDER TARGET_FOLDER
"""

import re
import sys
from pathlib import Path

import pypdf
from pypdf.generic import ArrayObject, NameObject, NumberObject, RectangleObject, StreamObject

source, target = Path(sys.argv[1]), Path(sys.argv[2])
target.mkdir(parents=True, exist_ok=True)
pdf = sorted(source.glob("*.pdf"))[0]
svg = sorted(source.glob("*.svg"))[0]


def spoilt(name, change):
    writer = pypdf.PdfWriter(clone_from=pdf)
    change(writer)
    writer.write(target / f"{name}.pdf")


def scaled(writer):
    writer.root_object["/ViewerPreferences"][NameObject("/PrintScaling")] = NameObject("/AppDefault")


def cropped(writer):
    writer.pages[0].cropbox = RectangleObject((10, 10, 300, 300))


def another_size(writer):
    writer.pages[-1].mediabox = RectangleObject((0, 0, 590, 842))


def without_face(writer):
    for font in writer.pages[0]["/Resources"]["/Font"].values():
        font = font.get_object()
        inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
        held = inner["/FontDescriptor"].get_object()
        for key in ("/FontFile", "/FontFile2", "/FontFile3"):
            held.pop(key, None)


def without_design(writer):
    del writer.root_object["/Names"]


def no_words(writer):
    page = writer.pages[0]
    stream = StreamObject()
    stream.set_data(re.sub(rb"<[0-9A-Fa-f]+>\s*Tj|\([^)]*\)\s*Tj|\[[^\]]*\]\s*TJ", b"", page.get_contents().get_data()))
    page[NameObject("/Contents")] = writer._add_object(stream)


def mistaken_design(writer):
    for item in writer.root_object["/Names"]["/EmbeddedFiles"]["/Names"]:
        item = item.get_object()
        if isinstance(item, dict):
            held = item["/EF"]["/F"].get_object()
            held.set_data(b"not a design")


for name, change in [
    ("scaled", scaled), ("cropped", cropped), ("another-size", another_size), ("without-face", without_face),
    ("without-design", without_design), ("no-words", no_words), ("mistaken-design", mistaken_design),
]:
    spoilt(name, change)
whole = pdf.read_bytes()
(target / "cut-short.pdf").write_bytes(whole[: len(whole) * 2 // 3])
at = whole.rindex(b"startxref")
(target / "wrong-table.pdf").write_bytes(whole[:at] + b"startxref\n77\n%%EOF\n")

text = svg.read_text(encoding="utf-8")
for name, changed in [
    ("cut-short", text[: len(text) // 2]),
    ("not-well-formed", text.replace("</svg>", "</svgs>")),
    ("in-points", re.sub(r'((?:width|height)="[0-9.]+)mm"', r'\1pt"', text, count=2)),
    ("half-a-per-cent-small", re.sub(r"<g ([^>]*stroke-linejoin)", r'<g transform="scale(0.995)" \1', text, count=1)),
    ("no-cautions", text.replace("Caution", "")),
]:
    if changed == text:
        sys.exit(f"{svg}: nothing to spoil for {name}")
    (target / f"{name}.svg").write_text(changed, encoding="utf-8")
