"""How closely a cable card is set on each paper: from roomy to as small as may still be read."""

from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from server.documents.pdf import PAPERS

MM_PER_PT = 25.4 / 72


Ribbon = Literal["measured", "bare", "wordless", "none"]
"""The ribbon with its measures; without them, as the steps say them anyway; without its names too; not at all."""


@dataclass(frozen=True, slots=True)
class Density:
    """One way to set a card. A closer one says the same in less room, and leaves out first what is said twice."""

    size_pt: float
    """Of the words. [pt]"""
    nets: bool = True
    """Whether the faces name the nets beside the cavities, as the table of wires does anyway."""
    ribbon: Ribbon = "measured"
    close: bool = False
    """Whether rows lie close, and materials and facts run on in lines across the sheet."""
    findings: int = 12
    """Findings told in full; further ones are counted."""


@dataclass(frozen=True, slots=True)
class SheetSize:
    """One paper as a card uses it. Lengths in mm."""

    frame: tuple[float, float, float, float]
    """From the paper's edge to the frame: above, right, below, left."""
    inside: tuple[float, float]
    """Between the frame and what stands in it: above and below, at either side; all round a close card, the former."""
    block: float
    """Height of the title block along the lower edge."""
    least_pt: float
    """No word is smaller. [pt]"""
    code: float
    """Width of the square code."""
    narrow: bool
    densities: tuple[Density, ...]
    wide: float
    """Width of the paper."""

    def side(self, density: Density) -> float:
        """Between the frame and what stands in it, at either side. [mm]"""
        return self.inside[0 if density.close else 1]

    def room(self, density: Density) -> float:
        """Width of what stands in the frame. [mm]"""
        return self.wide - self.frame[1] - self.frame[3] - 2 * self.side(density)


_LARGE = (
    Density(9.6),
    Density(9.0),
    Density(8.4),
    Density(7.8),
    Density(7.2),
    Density(7.7, nets=False, close=True),
    Density(7.0, nets=False, close=True),
    Density(7.0, nets=False, ribbon="bare", close=True, findings=4),
    Density(7.0, nets=False, ribbon="none", close=True, findings=2),
)
_SMALL = (
    Density(8.2),
    Density(7.6),
    Density(7.0),
    Density(6.5),
    Density(6.5, nets=False, close=True),
    Density(6.0, nets=False, close=True),
    Density(6.0, nets=False, ribbon="bare", close=True, findings=4),
    Density(6.0, nets=False, ribbon="wordless", close=True, findings=3),
    Density(6.0, nets=False, ribbon="none", close=True, findings=1),
)
SHEETS = MappingProxyType(
    {
        "A4": SheetSize((7.0, 7.0, 7.0, 12.0), (1.5, 1.5), 18.0, 7.0, 25.0, False, _LARGE, PAPERS["A4"][0]),
        "Letter": SheetSize((7.0, 7.0, 7.0, 12.0), (1.5, 1.5), 18.0, 7.0, 25.0, False, _LARGE, PAPERS["Letter"][0]),
        "A5": SheetSize((4.5, 4.5, 4.5, 4.5), (0.4, 1.2), 14.4, 6.0, 17.2, True, _SMALL, PAPERS["A5"][0]),
    }
)
"""Source: margins and sizes common practice; sizes of words are the least that read at arm's length on each paper."""


def page_css(paper: tuple[float, float], sheet: SheetSize, density: Density) -> str:
    """The rules of one setting: the room for the frame and the title block, and the sizes of words.

    Args:
        paper: Width and height of the paper. [mm]
        sheet: How a card uses it.
        density: How closely it is set.
    """
    above, right, below, left = sheet.frame
    small = max(sheet.least_pt, density.size_pt * 0.86)
    return (
        f"@page {{ size: {paper[0]:g}mm {paper[1]:g}mm; "
        f"margin: {above:g}mm {right:g}mm {below + sheet.block:g}mm {left:g}mm; }}\n"
        f"html {{ font-size: {density.size_pt:g}pt; }}\n"
        f".csheet-small {{ font-size: {small:g}pt; }}\n"
        f".csheet {{ padding: {sheet.inside[0]:g}mm {sheet.side(density):g}mm; }}\n"
        f".csheet-frame {{ bottom: -{sheet.block:g}mm; }}\n"
        f".csheet-title {{ bottom: -{sheet.block:g}mm; height: {sheet.block:g}mm; }}\n"
        f".csheet-title tr:first-of-type {{ height: {sheet.block * 0.58:.2f}mm; }}\n"
        f".csheet-title tr {{ height: {sheet.block * 0.41:.2f}mm; font-size: {sheet.least_pt:g}pt; }}\n"
        f".csheet-code {{ width: {sheet.code:g}mm; }}\n"
    )
