"""Square codes, read back by a reader that shares nothing with what wrote them."""

import re
import xml.etree.ElementTree as ET

import numpy as np
import zxingcpp

from server.documents.qr import qr_svg

ADDRESS = "http://192.168.1.20:8765/pair?number=012345"
SVG = "{http://www.w3.org/2000/svg}"


def picture(svg: str, scale: int = 4) -> "np.ndarray[tuple[int, int], np.dtype[np.uint8]]":
    """The code as a grey picture: its dark modules are strokes one unit wide, told as runs along lines."""
    tree = ET.fromstring(svg)
    side = int(float((tree.get("viewBox") or "").split()[2]))
    made = np.full((side, side), 255, dtype=np.uint8)
    x = y = 0.0
    for step, first, second in re.findall(
        r"([MmhH])(-?[\d.]+)(?: (-?[\d.]+))?", tree.findall(f"{SVG}path")[-1].get("d")
    ):
        if step == "M":
            x, y = float(first), float(second)
        elif step == "m":
            x, y = x + float(first), y + float(second)
        else:
            made[int(y), int(x) : int(x + float(first))] = 0
            x += float(first)
    return np.kron(made, np.ones((scale, scale), dtype=np.uint8))


def test_a_code_reads_as_the_address_that_it_was_made_of() -> None:
    (found,) = zxingcpp.read_barcodes(picture(qr_svg(ADDRESS, "pair a device")))
    assert (found.text, found.format.name) == (ADDRESS, "QRCode")


def test_a_code_has_a_quiet_zone_of_four_modules_on_every_side() -> None:
    # ISO/IEC 18004: four modules for a QR code.
    dark = np.argwhere(picture(qr_svg(ADDRESS, "pair a device"), scale=1) == 0)
    side = picture(qr_svg(ADDRESS, "pair a device"), scale=1).shape[0]
    assert (dark.min(axis=0) == 4).all()
    assert (dark.max(axis=0) == side - 5).all()


def test_a_code_has_a_name_for_those_who_do_not_see_it() -> None:
    assert ET.fromstring(qr_svg(ADDRESS, "pair a device")).findtext(f"{SVG}title") == "pair a device"
