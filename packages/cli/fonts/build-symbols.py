"""Cut the symbols that DejaVu Sans Condensed lacks from three Noto fonts and join them.

python3 build-symbols.py <folder with the Noto .ttf files> OffplateSymbols.ttf
Needs fontTools. Names, dates and glyph order are fixed, so the same inputs give the same bytes.
"""

import sys
import tempfile
from pathlib import Path

from fontTools import subset
from fontTools.merge import Merger, Options
from fontTools.ttLib import TTFont

PARTS = {
    "NotoSansSymbols-Regular.ttf": [
        *[0x2312, 0x2313, 0x232D, 0x232F, 0x2330, 0x2331, 0x2332, 0x2333, 0x2334, 0x2335, 0x23E4],
        *range(0x2460, 0x2474),
        *range(0x24B6, 0x24D0),
    ],
    "NotoSansSymbols2-Regular.ttf": [0x2316],
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


def main(folder: Path, out: Path) -> None:
    with tempfile.TemporaryDirectory() as scratch:
        pieces = []
        for index, (name, codes) in enumerate(PARTS.items()):
            piece = Path(scratch) / f"{index}.ttf"
            cut(folder / name, codes, piece)
            pieces.append(str(piece))
        font = Merger(Options(drop_tables=["vhea", "vmtx"])).merge(pieces)
    for ident, text in NAMES.items():
        font["name"].setName(text, ident, 3, 1, 0x409)
    font["head"].created = font["head"].modified = 0
    font.recalcTimestamp = False
    font.save(out)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
