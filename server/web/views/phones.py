"""Other devices at the bench: the list at the planner's computer, and the page on a device that is not paired."""

from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup

from server.documents.qr import qr_svg
from server.services.phones import OpenNumber, PairedDevice, pairing_address
from server.web.forms import Typed
from server.web.views import formats
from server.web.views.fields import Field, Fields, Trouble
from server.web.views.notice import Notice


@dataclass(frozen=True, slots=True)
class DeviceLine:
    """One paired device."""

    name: str
    since: str
    since_iso: str
    seen: str
    seen_iso: str
    href: str


@dataclass(frozen=True, slots=True)
class NumberShown:
    """The open pairing number: in two groups of three, until when, and as a code for a camera."""

    text: str
    until: str
    code: Markup


@dataclass(frozen=True, slots=True)
class PhonesPage:
    """Paired devices and the way to pair one more."""

    on: bool
    address: str
    devices: tuple[DeviceLine, ...]
    number: NumberShown | None
    paused: str
    """Moment from which devices can be paired again; empty when they can be now."""
    message: str


@dataclass(frozen=True, slots=True)
class PairPage:
    """What a device sees that is not paired."""

    number: Field
    name: Field
    onward: str
    troubles: tuple[Trouble, ...]


def phones_page(
    devices: Iterable[PairedDevice],
    number: OpenNumber | None,
    *,
    on: bool,
    address: str,
    paused: str = "",
    message: str = "",
) -> PhonesPage:
    """The view of the paired devices.

    Args:
        devices: Paired devices, the oldest first.
        number: The open pairing number, if there is one.
        on: Whether other devices can reach the planner at all.
        address: Where they reach it.
        paused: Until when nothing can be paired, ISO 8601 text.
        message: What the last click came to.
    """
    lines = tuple(
        DeviceLine(
            device.name,
            formats.clock(device.paired_at),
            device.paired_at,
            formats.clock(device.seen_at),
            device.seen_at,
            f"/phones/{device.token_hash}/forget",
        )
        for device in devices
    )
    return PhonesPage(on, address, lines, _shown(number, address), formats.clock(paused) if paused else "", message)


def pair_page(onward: str, *, phone: bool = False, number: str = "", typed: Typed | None = None) -> PairPage:
    """The view of the page on which a device is paired.

    Args:
        onward: Own path to go on to afterwards.
        phone: Whether the device says that it is a mobile one.
        number: The pairing number that the device's camera read.
        typed: A refused form with its problems.
    """
    fields = Fields(typed)
    shown = fields.text("number", "Number that the planner shows", number)
    name = fields.text("name", "What to call this device", "Phone" if phone else "Device")
    return PairPage(shown, name, onward, fields.troubles())


def at_the_planner_only() -> Notice:
    """The page that a device sees in place of what stays with the planner's computer."""
    text = "Devices are paired and forgotten on the planner’s own computer, not from here."
    return Notice("Only at the planner’s computer", text, "/", "Go to the builds")


def _shown(number: OpenNumber | None, address: str) -> NumberShown | None:
    if number is None:
        return None
    code = Markup(qr_svg(pairing_address(address, number.number), "Code that pairs a device"))
    return NumberShown(f"{number.number[:3]} {number.number[3:]}", formats.clock(number.until), code)
