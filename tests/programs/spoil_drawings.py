"""Copies drawings and meshes, spoilt: read_drawings.py must refuse every one.

    python spoil_drawings.py DXF_FOLDER STL_FOLDER TARGET_FOLDER
"""

import struct
import sys
from pathlib import Path

drawings, meshes, target = (Path(a) for a in sys.argv[1:4])
for path in drawings.glob("*.dxf"):
    text = path.read_text(encoding="utf-8")
    inches = text.replace("$INSUNITS\n70\n4\n", "$INSUNITS\n70\n1\n")
    if inches == text:
        sys.exit(f"{path}: no units to spoil")
    (target / path.name).write_text(inches, encoding="utf-8")
for path in meshes.glob("*.stl"):
    data = path.read_bytes()
    count = struct.unpack("<I", data[80:84])[0]
    # The last triangle is left out.
    (target / path.name).write_bytes(data[:80] + struct.pack("<I", count - 1) + data[84 : 84 + 50 * (count - 1)])
(target / "volumes.txt").write_text((meshes / "volumes.txt").read_text())
