"""Other devices in the workshop's network: which of them may use the planner, and how one comes to be paired."""

import hashlib
import hmac
import re
import secrets
import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from sqlalchemy.engine import Engine

from server.domain.errors import InvalidInputError, Problem
from server.store.database import reading, writing
from server.store.devices import PairedDevice, add_device, device_seen, find_device, forget_device, list_devices

__all__ = ["OpenNumber", "Paired", "PairedDevice", "PhoneDesk", "pairing_address"]

TOKEN_BYTES = 32
"""Random bytes of a device's secret: 256 bits."""
DIGITS = 6
VALID = timedelta(minutes=10)
"""How long a pairing number can be typed."""
MOST_WRONG = 5
"""Wrong tries after which a number is void."""
PAUSE = timedelta(minutes=1)
"""How long nothing can be paired after a number was guessed at."""
NAME_MOST = 40
_SEEN_EVERY = timedelta(minutes=1)
_CONTROL = re.compile(r"[\x00-\x1f\x7f\u200b-\u200f\u202a-\u202e\u2066-\u2069\ufffe\uffff]")


@dataclass(frozen=True, slots=True)
class OpenNumber:
    """A pairing number that one device can type."""

    number: str
    until: str
    """Last moment of it, ISO 8601 text."""


@dataclass(frozen=True, slots=True)
class Paired:
    """A device just paired, with the secret that it keeps; the planner keeps only its hash."""

    device: PairedDevice
    token: str


@dataclass(frozen=True, slots=True)
class _Open:
    number: str
    until: datetime
    wrong: int = 0


def _now() -> datetime:
    return datetime.now(UTC)


def pairing_address(address: str, number: str) -> str:
    """Where a device's camera leads it to be paired.

    Args:
        address: Where the planner is reached, without a slash at its end.
        number: The pairing number.
    """
    return f"{address}/pair?number={number}"


class PhoneDesk:
    """Pairs devices, knows them again and forgets them.

    The pairing number lives in this process alone: it is gone when the planner stops. One lock covers reading, judging
    and using it up, so that two devices cannot both use it and no guess goes uncounted.
    """

    def __init__(self, engine: Engine, *, on: bool, clock: Callable[[], datetime] = _now) -> None:
        """Open the desk.

        Args:
            engine: A database from ``open_database``.
            on: Whether other devices can reach the planner at all.
            clock: Gives the moment, with its time zone.
        """
        self.on = on
        self._engine = engine
        self._clock = clock
        self._lock = threading.Lock()
        self._open: _Open | None = None
        self._paused_until: datetime | None = None

    # ---- at this computer --------------------------------------------------------------------------------------

    def devices(self) -> tuple[PairedDevice, ...]:
        """Every paired device, the oldest first."""
        with reading(self._engine) as session:
            return list_devices(session)

    def forget(self, token_hash: str) -> str:
        """Forget a device and return its name.

        Raises:
            NotFoundError: no such device is paired.
        """
        with writing(self._engine) as session:
            return forget_device(session, token_hash)

    def make_number(self) -> OpenNumber:
        """A new pairing number, in place of the one that was open."""
        with self._lock:
            number = f"{secrets.randbelow(10**DIGITS):0{DIGITS}d}"
            self._open = _Open(number, self._clock() + VALID)
            return _shown(self._open)

    def withdraw_number(self) -> None:
        """Make the open number void."""
        with self._lock:
            self._open = None

    def open_number(self) -> OpenNumber | None:
        """The pairing number that can be typed now."""
        with self._lock:
            found = self._standing()
            return None if found is None else _shown(found)

    def paused_until(self) -> str:
        """Moment from which devices can be paired again, ISO 8601 text; empty when they can be now."""
        with self._lock:
            return self._paused_until.isoformat() if self._paused_until and self._clock() < self._paused_until else ""

    # ---- from elsewhere ----------------------------------------------------------------------------------------

    def pair(self, number: str, name: str) -> Paired:
        """Pair a device that sends the open number; the number is used up by it.

        Args:
            number: What was typed; blanks in it do not matter.
            name: What the device is to be called.

        Returns:
            The device and its secret.

        Raises:
            InvalidInputError: the number is not the open one, or pairing pauses; the problem's field says where.
        """
        tidy, typed = " ".join(name.split()), re.sub(r"\s", "", number)
        problems = []
        if not re.fullmatch(rf"[0-9]{{{DIGITS}}}", typed):
            problems.append(Problem("number", f"The number has {DIGITS} digits."))
        if not 1 <= len(tidy) <= NAME_MOST or _CONTROL.search(tidy):
            problems.append(Problem("name", f"A name has 1 to {NAME_MOST} characters."))
        if problems:
            raise InvalidInputError(tuple(problems))
        self._use(typed)
        token = secrets.token_urlsafe(TOKEN_BYTES)
        with writing(self._engine) as session:
            return Paired(add_device(session, _hashed(token), tidy, self._stamp()), token)

    def known(self, token: str) -> PairedDevice | None:
        """The device that keeps this secret, if it is paired; notes that it was here.

        Args:
            token: The secret as the device sent it.
        """
        if not token:
            return None
        with reading(self._engine) as session:
            device = find_device(session, _hashed(token))
        if device and self._clock() - datetime.fromisoformat(device.seen_at) >= _SEEN_EVERY:
            with writing(self._engine) as session:
                device_seen(session, device.token_hash, self._stamp())
        return device

    def _use(self, typed: str) -> None:
        """Use the open number up, or refuse what was typed."""
        with self._lock:
            if self._paused_until and self._clock() < self._paused_until:
                raise _refused("Too many wrong numbers were typed. Wait a minute, then ask for a new number.")
            found = self._standing()
            if found is None:
                raise _refused("No number is open. Ask for one at the planner’s computer.")
            if hmac.compare_digest(found.number, typed):
                self._open = None
                return
            wrong = found.wrong + 1
            if wrong < MOST_WRONG:
                self._open = _Open(found.number, found.until, wrong)
                raise _refused("That is not the number that the planner shows.")
            self._open, self._paused_until = None, self._clock() + PAUSE
            raise _refused(f"{MOST_WRONG} wrong numbers: the number is void. Wait a minute, then ask for a new one.")

    def _standing(self) -> _Open | None:
        if self._open and self._clock() >= self._open.until:
            self._open = None
        return self._open

    def _stamp(self) -> str:
        return self._clock().replace(microsecond=0).isoformat()


def _shown(number: _Open) -> OpenNumber:
    return OpenNumber(number.number, number.until.isoformat())


def _refused(text: str) -> InvalidInputError:
    return InvalidInputError((Problem("number", text),))


def _hashed(token: str) -> str:
    # The secret is 256 random bits, which nobody can try through: a plain hash is enough.
    return hashlib.sha256(token.encode()).hexdigest()
