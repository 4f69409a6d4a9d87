"""Make the symbols that DejaVu Sans Condensed lacks or draws too small or too thin.

python3 build-symbols.py <folder with the Noto .ttf files> OffplateSymbols.ttf

Most are cut from Noto fonts; diameter, position and symmetry are drawn here, because they are on
every drawing and must survive a worn printer. Needs fontTools. Names, dates and glyph order are
fixed, so the same inputs give the same bytes.
"""

import math
import sys
import tempfile
from pathlib import Path

from fontTools import subset
from fontTools.merge import Merger, Options
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

DIAMETER, POSITION, SYMMETRY = 0x2300, 0x2316, 0x232F
DRAWN = [DIAMETER, POSITION, SYMMETRY]
PARTS = {
    "NotoSansSymbols-Regular.ttf": [
        *[DIAMETER, 0x2312, 0x2313, 0x232D, SYMMETRY],
        *[0x2330, 0x2331, 0x2332, 0x2333, 0x2334, 0x2335, 0x23E4],
        *range(0x2460, 0x2474),
        *range(0x24B6, 0x24D0),
    ],
    "NotoSansSymbols2-Regular.ttf": [POSITION],
    "NotoSansMath-Regular.ttf": [0x27C2],
}
NAMES = {
    1: "Offplate Symbols",
    2: "Regular",
    3: "Offplate Symbols 1.0",
    4: "Offplate Symbols",
    5: "Version 1.0",
    6: "OffplateSymbols-Regular",
}
STROKE = 68
MIDDLE = 365  # of the capital letters of DejaVu Sans Condensed, 1000 units an em


def cut(source: Path, codes: list[int], target: Path) -> None:
    font = TTFont(source)
    absent = [hex(code) for code in codes if code not in font.getBestCmap()]
    if absent:
        raise SystemExit(f"{source.name} lacks {absent}")
    options = subset.Options(
        layout_features=[],
        hinting=False,
        notdef_outline=True,
        name_IDs=[0, 13, 14],
        drop_tables=["GSUB", "GPOS", "GDEF", "MATH", "DSIG", "meta", "STAT"],
    )
    worker = subset.Subsetter(options)
    worker.populate(unicodes=codes)
    worker.subset(font)
    font.save(target)


def bar(pen: TTGlyphPen, x1: float, y1: float, x2: float, y2: float) -> None:
    """A stroke from one point to the other, clockwise."""
    length = math.hypot(x2 - x1, y2 - y1)
    across_x = -(y2 - y1) / length * STROKE / 2
    across_y = (x2 - x1) / length * STROKE / 2
    pen.moveTo((x1 + across_x, y1 + across_y))
    pen.lineTo((x2 + across_x, y2 + across_y))
    pen.lineTo((x2 - across_x, y2 - across_y))
    pen.lineTo((x1 - across_x, y1 - across_y))
    pen.closePath()


def circle(pen: TTGlyphPen, x: float, y: float, radius: float, clockwise: bool) -> None:
    reach = radius / math.cos(math.pi / 8)
    turn = -1 if clockwise else 1
    angles = [turn * step * math.pi / 4 for step in range(8)]
    points = [(x + reach * math.cos(angle), y + reach * math.sin(angle)) for angle in angles]
    pen.qCurveTo(*points, None)
    pen.closePath()


def ring(pen: TTGlyphPen, x: float, y: float, radius: float) -> None:
    circle(pen, x, y, radius + STROKE / 2, True)
    circle(pen, x, y, radius - STROKE / 2, False)


def draw(font: TTFont, code: int) -> None:
    pen = TTGlyphPen(None)
    if code == DIAMETER:
        width, radius, lean = 780, 270, math.radians(60)
        ring(pen, width / 2, MIDDLE, radius)
        reach_x, reach_y = 405 * math.cos(lean), 405 * math.sin(lean)
        bar(pen, width / 2 - reach_x, MIDDLE - reach_y, width / 2 + reach_x, MIDDLE + reach_y)
    elif code == POSITION:
        width = 800
        ring(pen, width / 2, MIDDLE, 215)
        bar(pen, 40, MIDDLE, width - 40, MIDDLE)
        bar(pen, width / 2, MIDDLE - 360, width / 2, MIDDLE + 360)
    else:
        width = 760
        for offset, half in ((-170, 180), (0, 340), (170, 180)):
            bar(pen, width / 2 - half, MIDDLE + offset, width / 2 + half, MIDDLE + offset)
    name = font.getBestCmap()[code]
    glyph = pen.glyph(round=round)
    glyph.recalcBounds(font["glyf"])
    font["glyf"][name] = glyph
    font["hmtx"][name] = (width, glyph.xMin)


def main(folder: Path, out: Path) -> None:
    with tempfile.TemporaryDirectory() as scratch:
        pieces = []
        for index, (name, codes) in enumerate(PARTS.items()):
            piece = Path(scratch) / f"{index}.ttf"
            cut(folder / name, codes, piece)
            pieces.append(str(piece))
        font = Merger(Options(drop_tables=["vhea", "vmtx"])).merge(pieces)
    for code in DRAWN:
        draw(font, code)
    for ident, text in NAMES.items():
        font["name"].setName(text, ident, 3, 1, 0x409)
    font["head"].created = font["head"].modified = 0
    font.recalcTimestamp = False
    font.save(out)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
