"""Wire colours as paint: the catalogue's colour values, readable words on them, and hatching for prints without colour.

The hatching follows the old engravers' convention (vertical for red, level for blue, falling for green, rising for
violet, dots for yellow), extended with patterns of its own for the other colours of IEC 60757. Source of the
convention: from memory. The code is always written beside, so that no meaning hangs on the pattern alone.
"""

from collections.abc import Iterable

from server.domain.model.catalogue import Catalogue
from server.drawing.svg import esc

UNKNOWN = "#8a8f8c"
"""Shown for a colour that the catalogue does not know; its code is still written beside it."""

# Each pattern is drawn in a tile of 6 by 6 px.
_LEVEL, _UPRIGHT = "M0 3h6", "M3 0v6"
_FALLING, _RISING = "M-1 -1l8 8M-1 5l2 2M5 -1l2 2", "M-1 7l8 -8M-1 1l2 -2M5 7l2 -2"
_DOTS = "M1 1.5h1M4 4.5h1"
_HATCHES = {
    "BK": "",
    "WH": "",
    "RD": _UPRIGHT,
    "BU": _LEVEL,
    "GN": _FALLING,
    "VT": _RISING,
    "YE": _DOTS,
    "BN": _FALLING + _RISING,
    "TQ": _LEVEL + _UPRIGHT,
    "OG": _UPRIGHT + "M0 1h1M5 4h1",
    "GY": "M0 2h3M3 5h3",
    "PK": "M2 0v3M5 3v3",
    "GD": _DOTS + "M1 4.5h1M4 1.5h1",
    "SR": "M0 1.5h6M0 4.5h6",
}
_OTHER = "M0 3l3 -3l3 3M0 6l3 -3l3 3"
BRAID = "M0 3l3 -3l3 3l-3 3z"


def hex_of(code: str, catalogue: Catalogue) -> str:
    """How the screen shows a colour code."""
    colour = catalogue.colours.get(code)
    return colour.hex if colour else UNKNOWN


def is_light(colour: str) -> bool:
    """True when black words read better on the colour than white ones.

    Source:
        Relative luminance and contrast ratio, WCAG 2.2; the two contrasts are equal at a luminance of 0.179.
    """
    digits = colour.removeprefix("#")
    try:
        red, green, blue = (int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4))
    except ValueError:
        return True
    parts = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (red, green, blue))
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), parts, strict=True)) > 0.179


def words_on(colour: str) -> str:
    """Black or white, whichever reads better on the colour."""
    return "#101010" if is_light(colour) else "#ffffff"


class Paints:
    """The paints of one drawing and the definitions they need, each once."""

    def __init__(self, prefix: str, catalogue: Catalogue) -> None:
        self._prefix = prefix
        self._catalogue = catalogue

    def plain(self, code: str) -> str:
        """The bare colour value of a code."""
        return hex_of(code, self._catalogue)

    def hatched(self, code: str) -> str:
        """Paint of a bare wire: its hatching, or its bare colour where patterns cannot be shown."""
        return f"url(#{self._prefix}-wire-{_safe(code)}) {self.plain(code)}"

    def braided(self, code: str) -> str:
        """Paint of a sleeved wire: the sleeve's colour under a braid."""
        return f"url(#{self._prefix}-braid-{_safe(code)}) {self.plain(code)}"

    def definitions(self, bare: Iterable[str], sleeved: Iterable[str] = ()) -> str:
        """The patterns for the codes that a drawing uses."""
        parts = [self._pattern("wire", code, _HATCHES.get(code, _OTHER)) for code in sorted(set(bare))]
        parts += [self._pattern("braid", code, BRAID) for code in sorted(set(sleeved))]
        return f"<defs>{''.join(parts)}</defs>" if parts else ""

    def _pattern(self, kind: str, code: str, lines: str) -> str:
        colour = esc(self.plain(code))
        hatch = f'<path d="{lines}" fill="none" stroke="{words_on(colour)}" stroke-width="0.9" stroke-opacity="0.7"/>'
        return (
            f'<pattern id="{self._prefix}-{kind}-{_safe(code)}" width="6" height="6" patternUnits="userSpaceOnUse">'
            f'<rect width="6" height="6" fill="{colour}"/>{hatch if lines else ""}</pattern>'
        )


def _safe(code: str) -> str:
    """A code as part of an id; catalogues hold letters, and anything else is spelled by its number."""
    return "".join(c if c.isascii() and c.isalnum() else f"_{ord(c)}" for c in code)


def pattern_store(prefix: str, codes: Iterable[str], catalogue: Catalogue) -> str:
    """The hatched paints of bare wires by themselves, for bands of colour that a page draws.

    Args:
        prefix: Start of every id: ``<prefix>-wire-<code>``.
        codes: Colour codes.
        catalogue: Reference data with the colours.

    Returns:
        An ``svg`` element that shows nothing.
    """
    definitions = Paints(prefix, catalogue).definitions(codes)
    return f'<svg xmlns="http://www.w3.org/2000/svg" class="{prefix}-patterns" aria-hidden="true">{definitions}</svg>'
