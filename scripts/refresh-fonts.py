"""Cuts a typeface down to a subset and gives it a name of its own.

refresh-fonts.py SOURCE.ttf TARGET STYLE WEIGHT writes TARGET.ttf and
TARGET.woff2. The licence reserves the typeface's name for the unchanged
files (SIL OFL 1.1, condition 3), so the subset is called "Railtally Sans".
"""

import sys

from fontTools import subset
from fontTools.ttLib import TTFont

FAMILY = "Railtally Sans"

# Latin, Latin-1 and Extended-A; Greek; punctuation, spaces, super- and
# subscripts, the euro, arrows, and the signs that figures are written with.
RANGES = [
    (0x0020, 0x007E), (0x00A0, 0x017F), (0x0218, 0x021B), (0x0370, 0x03FF),
    (0x2002, 0x200A), (0x2010, 0x2027), (0x202F, 0x203A), (0x2070, 0x209F),
    (0x20AC, 0x20AC), (0x2103, 0x2103), (0x2122, 0x2122), (0x2126, 0x2126),
    (0x2190, 0x2199), (0x2202, 0x2202), (0x2206, 0x2206), (0x2211, 0x2215),
    (0x2219, 0x221E), (0x2248, 0x2248), (0x2260, 0x2265), (0x25A0, 0x25FF),
    (0x2713, 0x2717),
]


def main(source, target, style, weight):
    font = TTFont(source, recalcTimestamp=False)
    options = subset.Options()
    options.layout_features = ["kern", "mark", "mkmk", "ccmp", "locl"]
    options.hinting = False
    options.desubroutinize = True
    options.name_IDs = [0, 5, 13, 14]
    options.notdef_outline = True
    options.recalc_timestamp = False
    cut = subset.Subsetter(options)
    cut.populate(unicodes=[c for a, b in RANGES for c in range(a, b + 1)])
    cut.subset(font)

    names = {1: FAMILY, 2: "Regular", 3: f"{FAMILY} {style}", 4: f"{FAMILY} {style}",
             6: f"{FAMILY.replace(' ', '')}-{style}"}
    if style != "Regular":
        names.update({1: f"{FAMILY} {style}", 16: FAMILY, 17: style})
    for key, text in names.items():
        font["name"].setName(text, key, 3, 1, 0x409)
    font["OS/2"].usWeightClass = int(weight)

    # Tables and columns rely on figures of one width.
    cmap, widths = font.getBestCmap(), font["hmtx"]
    if len({widths[cmap[ord(d)]][0] for d in "0123456789"}) != 1:
        sys.exit(f"{source}: the figures are not tabular")

    font.save(target + ".ttf")
    font.flavor = "woff2"
    font.save(target + ".woff2")


main(*sys.argv[1:])
