"""A colour as a small hatched field, for tables that are printed without colour too."""

from server.domain.model.catalogue import Catalogue
from server.drawing import svg
from server.drawing.paint import Paints, hex_of
from server.drawing.standalone import standalone

WIDE, HIGH = 26.0, 12.0
"""Size of the field. [px]"""


def swatch_svg(prefix: str, code: str, catalogue: Catalogue, *, sleeve: bool = False) -> str:
    """A field in a wire's colour under the hatching of that colour, or in a sleeve's under a braid.

    Args:
        prefix: Start of every id in the drawing, unique within a page.
        code: Colour by its IEC 60757 code.
        catalogue: Reference data with colours.
        sleeve: True for a sleeve.

    Returns:
        A standing ``svg`` element.
    """
    paints = Paints(prefix, catalogue)
    paint = paints.braided(code) if sleeve else paints.hatched(code)
    definitions = paints.definitions((), [code]) if sleeve else paints.definitions([code])
    field = svg.rect(0.5, 0.5, WIDE - 1, HIGH - 1, cls="edge", fill=paint)
    words = (f"{code}, {hex_of(code, catalogue)}", "A sleeve." if sleeve else "A wire.")
    return standalone(svg.document(prefix, "swatch", (WIDE, HIGH), words, [definitions, field]))
