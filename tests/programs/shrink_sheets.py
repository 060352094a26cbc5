"""Copies sheets made 0.5 % smaller, as a printer that fits to the page would: measure_sheets.py must refuse them.

    python shrink_sheets.py SOURCE_FOLDER TARGET_FOLDER
"""

import re
import sys
from pathlib import Path

import pypdf

SHRINK = 0.995

source, target = Path(sys.argv[1]), Path(sys.argv[2])
target.mkdir(parents=True, exist_ok=True)
for path in source.glob("*.pdf"):
    writer = pypdf.PdfWriter(clone_from=path)
    for page in writer.pages:
        page.add_transformation(pypdf.Transformation().scale(SHRINK))
    writer.write(target / path.name)
for path in source.glob("*.svg"):
    text = path.read_text(encoding="utf-8")
    shrunk, count = re.subn(r"<g ([^>]*stroke-linejoin)", rf'<g transform="scale({SHRINK})" \1', text, count=1)
    if count != 1:
        sys.exit(f"{path}: no group to shrink")
    (target / path.name).write_text(shrunk, encoding="utf-8")
