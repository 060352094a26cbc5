"""Saves sheets again with programs that did not write them, and asks the program for the design and for a proof.

    python saved_again.py NOCKWRIGHT FOLDER [FOLDER ...]

SVG is saved again by xmllint (as it is, and laid out in lines), by ElementTree and by lxml's C14N through xmllint; PDF by qpdf (packed,
unpacked, for the web) and by pypdf. Each must give the design back byte for byte, with true bars. A saved copy whose design has one
letter changed must be refused; one that a program has drawn anew without metadata must be refused, too. A page turned by qpdf, and cropped or written on by pypdf,
must not be proved true.
"""

import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pypdf
from pypdf.annotations import Rectangle

passed, failures = 0, []


def check(holds, what):
    global passed
    if holds:
        passed += 1
    else:
        failures.append(what)


def run(*command):
    return subprocess.run([str(c) for c in command], capture_output=True, check=False)


def saved_svg(path, folder):
    for name, command in (
        ("xmllint", ("xmllint", path)),
        ("xmllint-in-lines", ("xmllint", "--format", path)),
        ("xmllint-canonical", ("xmllint", "--c14n", path)),
        ("xmllint-utf16", ("xmllint", "--encode", "US-ASCII", path)),
    ):
        made = run(*command)
        check(made.returncode == 0, f"{path}: {name}: {made.stderr[:200]}")
        yield name, made.stdout
    tree = ElementTree.parse(path)
    again = folder / "elementtree.svg"
    tree.write(again, encoding="utf-8", xml_declaration=True)
    yield "ElementTree", again.read_bytes()


def saved_pdf(path, folder):
    for name, options in (
        ("qpdf-packed", ("--object-streams=generate", "--recompress-flate")),
        ("qpdf-unpacked", ("--qdf", "--object-streams=disable")),
        ("qpdf-for-the-web", ("--linearize",)),
    ):
        again = folder / f"{name}.pdf"
        made = run("qpdf", *options, path, again)
        check(made.returncode == 0, f"{path}: {name}: {made.stderr[:200]}")
        yield name, again.read_bytes()
    again = folder / "pypdf.pdf"
    pypdf.PdfWriter(clone_from=path).write(again)
    yield "pypdf", again.read_bytes()


def altered_pdf(path, folder):
    """Copies in which nothing of the drawing is changed and something of what is printed, with the word for it."""
    again = folder / "turned.pdf"
    run("qpdf", "--rotate=+90:1", path, again)
    yield "TURNED", again
    writer = pypdf.PdfWriter(clone_from=path)
    writer.pages[0].cropbox.upper_right = (300, 300)
    again = folder / "cropped.pdf"
    writer.write(again)
    yield "CROPPED", again
    writer = pypdf.PdfWriter(clone_from=path)
    writer.add_annotation(page_number=0, annotation=Rectangle(rect=(50, 50, 200, 200), interior_color="ff0000"))
    again = folder / "written-on.pdf"
    writer.write(again)
    yield "NOTE", again


def main(program, folders):
    files = 0
    with tempfile.TemporaryDirectory() as temporary:
        temporary = Path(temporary)
        for path in sorted(p for folder in folders for p in Path(folder).iterdir() if p.suffix in (".svg", ".pdf")):
            files += 1
            design = run(program, "recover", path).stdout
            check(b"[bow]" in design, f"{path}: gives no design to begin with")
            for name, contents in (saved_svg if path.suffix == ".svg" else saved_pdf)(path, temporary):
                again = temporary / f"again{path.suffix}"
                again.write_bytes(contents)
                back = run(program, "recover", again)
                check(back.returncode == 0 and back.stdout == design, f"{path}: {name}: {back.stderr.decode()[:300]}")
                proof = run(program, "verify", again)
                check(proof.returncode == 0, f"{path}: {name}: {proof.stdout.decode()}")
                check(b"CHANGED" not in proof.stdout, f"{path}: {name}: taken for changed: {proof.stdout.decode()}")
                if path.suffix == ".svg":
                    at = contents.find(b"brace_height")
                    again.write_bytes(contents[:at] + b"brace_haight" + contents[at + 12 :])
                    back = run(program, "recover", again)
                    check(at > 0 and back.returncode == 2 and b"was changed" in back.stderr, f"{path}: {name}: an altered design passes")
            for word, again in altered_pdf(path, temporary) if path.suffix == ".pdf" else ():
                proof = run(program, "verify", again)
                said = proof.stdout.decode()
                check(proof.returncode == 1 and word in said and "as it was written" in said, f"{path}: {word}: {said}")
            if path.suffix == ".svg":
                bare = temporary / "bare.svg"
                run("rsvg-convert", "-f", "svg", "-o", bare, path)
                back = run(program, "recover", bare)
                check(back.returncode == 2 and b"carries no design" in back.stderr, f"{path}: drawn anew by librsvg: {back.stderr.decode()[:300]}")
    for failure in failures:
        print("FAILED", failure)
    print(f"{files} files: {passed} passed, {len(failures)} failed")
    return 1 if failures or not files else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2:]))
