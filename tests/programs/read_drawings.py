"""Reads DXF sheets and STL meshes with programs that did not write them.

    python read_drawings.py [--refuse] FOLDER [FOLDER ...]

DXF   ezdxf reads it strictly; its audit finds nothing to mend; R2000, millimetres; every bar of 100 mm is 100.00 mm, both ways, on
      the layer that is not cut; on the layer `cut` there is nothing but closed polylines and the ticks on their waste side; no splines.
STL   trimesh finds it watertight, wound outward, in one piece, with the volume that `volumes.txt` beside it says to 0.5 %.

With --refuse every file must be refused (they were spoilt on purpose).
"""

import math
import sys
from pathlib import Path

import ezdxf
import trimesh

TOLERANCE = 0.005
passed, failures, refused = 0, [], set()


def check(holds, path, what):
    global passed
    if holds:
        passed += 1
    else:
        failures.append(f"{path}: {what}")
        refused.add(path)


def length(entity):
    """Length of a polyline with its arcs, mm."""
    points = list(entity.get_points("xyb"))
    pairs = list(zip(points, points[1:] + (points[:1] if entity.closed else [])))
    total = 0.0
    for (x0, y0, bulge), (x1, y1, _) in pairs:
        chord = math.hypot(x1 - x0, y1 - y0)
        turn = 4 * math.atan(abs(bulge))
        total += chord if turn == 0 else chord * turn / (2 * math.sin(turn / 2))
    return total


def read_dxf(path):
    document = ezdxf.readfile(path)
    auditor = document.audit()
    check(not auditor.errors and not auditor.fixes, path, f"audit: {auditor.errors} {auditor.fixes}")
    check(document.dxfversion == "AC1015", path, document.dxfversion)
    check(document.header["$INSUNITS"] == 4, path, "not in millimetres")
    space = document.modelspace()
    kinds = {entity.dxftype() for entity in space}
    check(kinds <= {"LWPOLYLINE", "TEXT"}, path, f"holds {kinds}")
    layers = {layer.dxf.name for layer in document.layers}
    check(all(entity.dxf.layer in layers for entity in space), path, "an entity on no layer")
    bars = {(1, 0): 0, (0, 1): 0}
    for line in space.query('LWPOLYLINE[layer=="scale"]'):
        points = list(line.get_points("xy"))
        if len(points) == 2:
            (x0, y0), (x1, y1) = points
            for way in bars:
                along, off = abs((x1 - x0) * way[0] + (y1 - y0) * way[1]), abs((x1 - x0) * way[1] + (y1 - y0) * way[0])
                bars[way] += abs(along - 100.0) <= TOLERANCE and off <= TOLERANCE
    for way, count in bars.items():
        check(count == 1, path, f"{count} bars of 100.00 mm along {way}")
    cut = space.query('LWPOLYLINE[layer=="cut"]')
    open_lines = [length(line) for line in cut if not line.closed and length(line) > 3.0]
    check(not open_lines, path, f"open cut lines, mm: {open_lines}")
    texts = [entity.dxf.text for entity in space.query("TEXT")]
    check(len(texts) > 3 and all(entity.dxf.height > 1 for entity in space.query("TEXT")), path, "texts")
    return sum(line.closed for line in cut)


def read_stl(path, volumes):
    mesh = trimesh.load(path)
    check(mesh.is_watertight, path, "not watertight")
    check(mesh.is_winding_consistent and mesh.volume > 0, path, "wound inward")
    check(mesh.body_count == 1, path, f"{mesh.body_count} pieces")
    wanted = volumes.get(path.name)
    check(wanted is not None, path, "no volume to compare with")
    if wanted:
        check(abs(mesh.volume / wanted - 1) <= 5e-3, path, f"volume {mesh.volume:.2f} mm3, sections say {wanted:.2f} mm3")


def read_folder(folder):
    closed, files = 0, 0
    listed = folder / "volumes.txt"
    lines = listed.read_text().split("\n") if listed.exists() else []
    volumes = {name: float(volume) for name, volume in (line.split() for line in lines if line)}
    for path in sorted(folder.glob("*.dxf")):
        files += 1
        try:
            closed += read_dxf(path)
        except (ezdxf.DXFError, OSError) as error:
            check(False, path, str(error))
    for path in sorted(folder.glob("*.stl")):
        files += 1
        read_stl(path, volumes)
    check(files > 0, folder, "nothing to read")
    return closed, files


def main(arguments):
    refuse = arguments[:1] == ["--refuse"]
    closed, files = 0, 0
    for folder in arguments[1:] if refuse else arguments:
        more = read_folder(Path(folder))
        closed, files = closed + more[0], files + more[1]
    if refuse:
        print(f"spoilt: {len(refused)} of {files} files refused")
        return 0 if len(refused) == files else 1
    for failure in failures:
        print("FAILED", failure)
    print(f"{files} files, {closed} closed cut lines: {passed} passed, {len(failures)} failed")
    return 1 if failures or not passed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
