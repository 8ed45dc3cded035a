"""Parts a builder picks by name: which sockets a usual part has."""

from dataclasses import dataclass
from typing import Final

from server.domain.model.build import PartKind


@dataclass(frozen=True, slots=True)
class PartRecipe:
    """A usual part: its sockets as (id, catalogue pinout)."""

    id: str
    kind: PartKind
    name: str
    text: str
    sockets: tuple[tuple[str, str], ...]
    chained: bool = False
    """True when several of them share one run, plug after plug."""


def _several(prefix: str, pinout: str, count: int) -> tuple[tuple[str, str], ...]:
    return tuple((f"{prefix}{i + 1}", pinout) for i in range(count))


RECIPES: Final = (
    PartRecipe(
        "board-small",
        "board",
        "Small board",
        "main 24, one CPU 8, three fan headers, one of each light header, front panel",
        (
            ("main", "main-24"),
            ("cpu1", "cpu-8"),
            *_several("fan", "fan-4-header", 3),
            ("light5v1", "light-5v-header"),
            ("light12v1", "light-12v-header"),
            ("power", "button-header"),
            ("reset", "button-header"),
            *_several("led", "led-header", 2),
            ("usb1", "usb2-header"),
            ("audio", "audio-header"),
        ),
    ),
    PartRecipe(
        "board-large",
        "board",
        "Large board",
        "main 24, two CPU 8, seven fan headers, light headers, front panel",
        (
            ("main", "main-24"),
            *_several("cpu", "cpu-8", 2),
            *_several("fan", "fan-4-header", 7),
            *_several("light5v", "light-5v-header", 2),
            ("light12v1", "light-12v-header"),
            ("power", "button-header"),
            ("reset", "button-header"),
            *_several("led", "led-header", 2),
            *_several("usb", "usb2-header", 2),
            ("audio", "audio-header"),
        ),
    ),
    PartRecipe(
        "board-cpu-8-4",
        "board",
        "Board with CPU 8 and CPU 4",
        "main 24, CPU 8 and 4, five fan headers, one 5 V light header, front panel",
        (
            ("main", "main-24"),
            ("cpu1", "cpu-8"),
            ("cpu2", "cpu-4"),
            *_several("fan", "fan-4-header", 5),
            ("light5v1", "light-5v-header"),
            ("power", "button-header"),
            *_several("led", "led-header", 2),
            ("usb1", "usb2-header"),
            ("audio", "audio-header"),
        ),
    ),
    PartRecipe("graphics-6", "graphics", "Graphics card, one 6", "75 W inlet", (("power1", "graphics-6"),)),
    PartRecipe("graphics-8", "graphics", "Graphics card, one 8", "150 W inlet", (("power1", "graphics-8"),)),
    PartRecipe(
        "graphics-6-8",
        "graphics",
        "Graphics card, 6 and 8",
        "75 W and 150 W inlets",
        (("power1", "graphics-8"), ("power2", "graphics-6")),
    ),
    PartRecipe(
        "graphics-2x8", "graphics", "Graphics card, two 8", "two 150 W inlets", _several("power", "graphics-8", 2)
    ),
    PartRecipe(
        "graphics-3x8", "graphics", "Graphics card, three 8", "three 150 W inlets", _several("power", "graphics-8", 3)
    ),
    PartRecipe("graphics-12-4", "graphics", "Graphics card, 12+4", "600 W inlet", (("power1", "graphics-12-4"),)),
    PartRecipe("drive-sata", "drive", "SATA drive", "chained, up to four a run", (("power", "sata-15"),), chained=True),
    PartRecipe(
        "drive-peripheral",
        "drive",
        "Peripheral-plug device",
        "chained, up to four a run",
        (("power", "peripheral-4"),),
        chained=True,
    ),
    PartRecipe("fan-4", "fan", "Fan, four-wire", "from a fan header", (("lead", "fan-4"),)),
    PartRecipe("fan-3", "fan", "Fan, three-wire", "from a fan header", (("lead", "fan-3"),)),
    PartRecipe("light-5v", "light", "Light, 5 V three-wire", "from a 5 V header", (("lead", "light-5v"),)),
    PartRecipe("light-12v", "light", "Light, 12 V four-wire", "from a 12 V header", (("lead", "light-12v"),)),
    PartRecipe("button", "button", "Push button", "power or reset", (("lead", "button"),)),
    PartRecipe("led", "button", "Panel LED", "from an LED header", (("lead", "led"),)),
    PartRecipe("usb2", "usb", "Panel USB 2.0", "from a USB header", (("lead", "usb2"),)),
    PartRecipe("audio", "audio", "Panel audio", "from the audio header", (("lead", "audio"),)),
    PartRecipe("sata-data", "data", "SATA data cable", "sleeved, never rewired", (("cable", "sata-data"),)),
    PartRecipe("usb3-data", "data", "USB 3 panel cable", "sleeved, never rewired", (("cable", "usb3-data"),)),
    PartRecipe(
        "fan-hub",
        "hub",
        "Fan hub",
        "six fan headers fed from a SATA plug",
        (("power", "sata-15"), *_several("fan", "fan-4-header", 6)),
    ),
    PartRecipe(
        "light-hub",
        "hub",
        "Light hub",
        "four 5 V light headers fed from a SATA plug",
        (("power", "sata-15"), *_several("light5v", "light-5v-header", 4)),
    ),
)
"""Usual parts, in the order the parts step offers them."""


def recipe(recipe_id: str) -> PartRecipe | None:
    """The recipe of an id, or ``None``."""
    return next((r for r in RECIPES if r.id == recipe_id), None)
