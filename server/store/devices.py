"""Devices that may use the planner from elsewhere: a secret's hash and a name. The secret itself is never stored."""

from dataclasses import dataclass

from sqlmodel import Session, select

from server.domain.errors import NotFoundError
from server.store.device_tables import PairedDeviceRow


@dataclass(frozen=True, slots=True)
class PairedDevice:
    """A device that is paired."""

    token_hash: str
    name: str
    paired_at: str
    """Moment of pairing, ISO 8601 text."""
    seen_at: str
    """Moment of its last request, to about a minute, ISO 8601 text."""


def add_device(session: Session, token_hash: str, name: str, at: str) -> PairedDevice:
    """Note a device; a name that is taken already gets a number.

    Args:
        session: A session from ``writing``.
        token_hash: Hash of the device's secret.
        name: What the builder calls it.
        at: Moment of pairing, ISO 8601 text.

    Returns:
        The device under the name that it got.
    """
    taken = {device.name for device in list_devices(session)}
    numbered = (f"{name} {number}" for number in range(2, len(taken) + 3))
    free = name if name not in taken else next(text for text in numbered if text not in taken)
    session.add(PairedDeviceRow(token_hash=token_hash, name=free, paired_at=at, seen_at=at))
    session.flush()
    return PairedDevice(token_hash, free, at, at)


def find_device(session: Session, token_hash: str) -> PairedDevice | None:
    """The device with this secret, if it is paired.

    Args:
        session: A session from ``reading`` or ``writing``.
        token_hash: Hash of the secret.
    """
    row = session.get(PairedDeviceRow, token_hash)
    return None if row is None else _device(row)


def list_devices(session: Session) -> tuple[PairedDevice, ...]:
    """Every paired device, the oldest first.

    Args:
        session: A session from ``reading`` or ``writing``.
    """
    chosen = select(PairedDeviceRow).order_by(PairedDeviceRow.paired_at, PairedDeviceRow.name)
    return tuple(_device(row) for row in session.exec(chosen))


def device_seen(session: Session, token_hash: str, at: str) -> None:
    """Note when a device was here last; nothing when it was forgotten meanwhile.

    Args:
        session: A session from ``writing``.
        token_hash: Hash of the device's secret.
        at: The moment, ISO 8601 text.
    """
    row = session.get(PairedDeviceRow, token_hash)
    if row is not None:
        row.seen_at = at
        session.add(row)
        session.flush()


def forget_device(session: Session, token_hash: str) -> str:
    """Forget a device and return its name; its secret opens nothing from now on.

    Args:
        session: A session from ``writing``.
        token_hash: Hash of the device's secret.

    Raises:
        NotFoundError: no such device is paired.
    """
    row = session.get(PairedDeviceRow, token_hash)
    if row is None:
        raise NotFoundError("No such device is paired.")
    name = row.name
    session.delete(row)
    session.flush()
    return name


def _device(row: PairedDeviceRow) -> PairedDevice:
    return PairedDevice(row.token_hash, row.name, row.paired_at, row.seen_at)
