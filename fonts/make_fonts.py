"""Makes the two small faces that the sheets are set in.

Source: the Debian package `fonts-inter` (4.0~beta7+ds-1), SIL Open Font License 1.1, no reserved font name.
Each face is cut down to the characters named below, turned from cubic to quadratic outlines (TrueType), scaled to
1000 units per em (so that widths in a PDF, which are whole thousandths, are exact), given digits of one
width (figures then stand under each other in tables), and renamed. Kerning and other layout tables are left out:
the program sets text by advance widths alone, and so must everybody who shows it.

    apt-get download fonts-inter && dpkg -x fonts-inter_*.deb inter
    pip install fonttools==4.68.0 brotli==1.2.1
    python3 make_fonts.py inter/usr/share/fonts/opentype/inter
"""

import sys
from pathlib import Path

from fontTools import subset
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont, newTable
from fontTools.ttLib.scaleUpem import scale_upem

FAMILY = "Nockwright Sans"

# Printable ASCII, Latin-1, Latin Extended-A: the names of Europe written in Latin letters.
CHARACTERS = [chr(c) for span in ((0x20, 0x7F), (0xA0, 0x180)) for c in range(*span)]
# Romanian comma letters, Greek letters of formulas, dashes, quotes, primes, fractions, arrows, signs, the box.
CHARACTERS += "ȘșȚțẞαβγδεθκλμπρσφωΔΣΩ–—‑‘’‚“”„†•…‰′″⁄€™⅛⅓⅔⅜⅝⅞←↑→↓↔−√∞≈≠≤≥□■"
CHARACTERS += "₀₁₂₃₄₅₆₇₈₉⁰⁴⁵⁶⁷⁸⁹"


def substitutes(font, feature):
    """Glyph to glyph of a single-substitution feature."""
    table, found = font["GSUB"].table, {}
    for record in table.FeatureList.FeatureRecord:
        if record.FeatureTag == feature:
            for index in record.Feature.LookupListIndex:
                for part in table.LookupList.Lookup[index].SubTable:
                    part = getattr(part, "ExtSubTable", part)
                    if hasattr(part, "mapping"):
                        found.update(part.mapping)
    return found


def quadratic(font):
    """Replaces CFF outlines by TrueType ones; half a thousandth of an em is the greatest deviation."""
    glyphs, order = font.getGlyphSet(), font.getGlyphOrder()
    made = {}
    for name in order:
        pen = TTGlyphPen(glyphs)
        glyphs[name].draw(Cu2QuPen(pen, max_err=font["head"].unitsPerEm / 2000, reverse_direction=True))
        made[name] = pen.glyph()
    del font["CFF "]
    font["loca"] = newTable("loca")
    font["glyf"] = glyf = newTable("glyf")
    glyf.glyphOrder, glyf.glyphs = order, made
    maxp = font["maxp"]
    maxp.tableVersion = 0x00010000
    for key in ("maxTwilightPoints", "maxStorage", "maxFunctionDefs", "maxInstructionDefs", "maxStackElements",
                "maxSizeOfInstructions", "maxComponentElements", "maxPoints", "maxContours", "maxCompositePoints",
                "maxCompositeContours", "maxComponentDepth"):
        setattr(maxp, key, 0)
    maxp.maxZones = 1
    post = font["post"]
    post.formatType = 3.0
    font.sfntVersion = "\000\001\000\000"
    for name in order:
        made[name].recalcBounds(glyf)
        font["hmtx"][name] = (font["hmtx"][name][0], getattr(made[name], "xMin", 0))


def make(source, weight, folder):
    font = TTFont(source, recalcTimestamp=False)
    tabular = substitutes(font, "tnum")
    drawn = {code: tabular[font.getBestCmap()[code]] for code in range(ord("0"), ord("9") + 1)}
    for cmap in font["cmap"].tables:
        if cmap.isUnicode():
            cmap.cmap.update(drawn)
    options = subset.Options()
    options.layout_features = []
    options.drop_tables += ["GSUB", "GPOS", "GDEF", "DSIG", "STAT", "meta"]
    options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]
    options.hinting = False
    options.desubroutinize = True
    options.notdef_outline = True
    cut = subset.Subsetter(options)
    cut.populate(text="".join(CHARACTERS))
    missing = [c for c in CHARACTERS if ord(c) not in font.getBestCmap()]
    cut.subset(font)
    quadratic(font)
    scale_upem(font, 1000)
    # The source's bold 4 is two units narrower than its fellows.
    digits = [font.getBestCmap()[code] for code in range(ord("0"), ord("9") + 1)]
    widest = max(font["hmtx"][name][0] for name in digits)
    for name in digits:
        font["hmtx"][name] = (widest, font["hmtx"][name][1])
    postscript = FAMILY.replace(" ", "") + "-" + weight
    for record in list(font["name"].names):
        text = {1: FAMILY, 2: weight, 3: postscript + " 1", 4: f"{FAMILY} {weight}", 6: postscript}.get(record.nameID)
        if text:
            record.string = text
    # Made from the same source at any time, the file is the same.
    font["head"].modified = font["head"].created
    font.save(folder / f"{postscript}.ttf")
    font.flavor = "woff2"
    font.save(folder / f"{postscript}.woff2")
    print(postscript, "left out:", " ".join(missing) or "nothing")


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    for weight in ("Regular", "Bold"):
        make(folder / f"Inter-{weight}.otf", weight, Path(__file__).parent)
