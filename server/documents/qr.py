"""Square codes that a phone's camera reads (QR, ISO/IEC 18004), as SVG."""

from io import BytesIO

import segno


def qr_svg(text: str, title: str) -> str:
    """A code as an ``svg`` element that scales with its box, the quiet zone of four modules included.

    Args:
        text: What it holds, such as an address.
        title: Its accessible name.

    Returns:
        An ``svg`` element, black on white.

    Raises:
        ValueError: the text is longer than a code can hold.

    Source:
        ISO/IEC 18004: error correction level M, quiet zone of 4 modules.
    """
    made = BytesIO()
    # A title of its own, so that the drawing has a name; no size of its own, so that paper and screen choose one.
    segno.make(text, error="m", micro=False).save(
        made, kind="svg", border=4, xmldecl=False, svgns=True, omitsize=True, title=title, light="#fff", dark="#000"
    )
    return made.getvalue().decode()
