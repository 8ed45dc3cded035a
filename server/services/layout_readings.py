"""What a builder can do with readings: write them down, settle, clear, and judge those that came with a file."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from server.domain.errors import InvalidInputError, Problem
from server.domain.layout_edits import port_of
from server.domain.layout_rules import reading_problems
from server.domain.model.catalogue import Reading
from server.services.layout_records import LayoutRecords, Place
from server.store.database import reading as reading_session
from server.store.database import writing
from server.store.layout_imports import drop_imported, keep_imported
from server.store.layouts import find_layout, readings_of, record_readings


@dataclass(frozen=True, slots=True)
class Adopted:
    """What became of readings that came with a document, once they were said to be of this very supply."""

    counted: int
    """Cavities whose reading counts from now on."""
    measured_here: int
    """Cavities that had a reading of their own, which stays."""


class LayoutReadings(LayoutRecords):
    """The meter's record of own layouts."""

    def readings_at(self, layout_id: str, entry: int) -> Mapping[Place, Reading]:
        """Readings by port and cavity as the record stood after a given entry."""
        with reading_session(self._engine) as session:
            return {(each.port, each.cavity): each for each in readings_of(session, layout_id, entry)}

    def record(self, layout_id: str, readings: Iterable[Reading]) -> int:
        """Write down what the meter said; a reading without values clears its cavity.

        Args:
            layout_id: Id of the layout.
            readings: At cavities of its newest version.

        Returns:
            How many entries were added: a reading that says the same as before adds none.

        Raises:
            InvalidInputError: a cavity does not exist or a voltage cannot be one; nothing is written then.
            NotFoundError: no such layout.
        """
        with writing(self._engine) as session:
            layout = find_layout(session, layout_id).layout
            places = {(port.id, pin.cavity) for port in layout.ports for pin in port.pins}
            wanted = tuple(readings)
            problems = tuple(problem for each in wanted for problem in reading_problems(each, places))
            if problems:
                raise InvalidInputError(problems)
            changed = other_readings(wanted, layout.readings)
            record_readings(session, layout_id, changed, taken_at=self._clock())
            return len(changed)

    def settle(self, layout_id: str, port_id: str) -> int:
        """Settle as recorded every cavity of a port that fits two nets which no further reading tells apart.

        Returns:
            How many cavities were settled.

        Raises:
            NotFoundError: no such layout or port.
        """
        opened = self.open(layout_id)
        nets = {pin.cavity: pin.net for pin in port_of(opened.layout, port_id).pins}
        open_ = {cavity for (place, cavity), each in opened.verdicts.items() if place == port_id and each.by_eye}
        taken = [each for each in opened.layout.readings if each.port == port_id and each.cavity in open_]
        return self.record(layout_id, [replace(each, settled=nets[each.cavity]) for each in taken])

    def clear(self, layout_id: str, port_id: str = "") -> int:
        """Clear the readings of one port, or of the whole layout; the record keeps what was there.

        Returns:
            How many cavities were cleared.

        Raises:
            NotFoundError: no such layout.
        """
        with writing(self._engine) as session:
            layout = find_layout(session, layout_id).layout
            if port_id:
                port_of(layout, port_id)
            cleared = [Reading(each.port, each.cavity) for each in layout.readings if port_id in ("", each.port)]
            record_readings(session, layout_id, cleared, taken_at=self._clock())
            return len(cleared)

    # ---- readings that came with a document --------------------------------------------------------------------

    def keep_for_comparison(self, layout_id: str, readings: Iterable[Reading]) -> None:
        """Keep readings that came with a document where they count for nothing, in place of those kept so before."""
        with writing(self._engine) as session:
            find_layout(session, layout_id)
            keep_imported(session, layout_id, readings)

    def adopt_imported(self, layout_id: str, *, same_supply: bool) -> Adopted:
        """Let the readings that came with a document count, as the builder says that they are of this very supply.

        Args:
            layout_id: Id of the layout.
            same_supply: The builder's word: taken on a supply of the same type, and on this very unit.

        Returns:
            What became of them; a cavity that was measured here keeps its own reading.

        Raises:
            InvalidInputError: it was not said that the supply is the same.
            NotFoundError: no such layout.
        """
        if not same_supply:
            raise InvalidInputError(
                (Problem("same_supply", "say that they were taken on this very supply, or measure it anew"),)
            )
        with writing(self._engine) as session:
            stored = find_layout(session, layout_id)
            own = {(each.port, each.cavity) for each in stored.layout.readings}
            counted = [each for each in stored.imported if (each.port, each.cavity) not in own]
            record_readings(session, layout_id, counted, taken_at=self._clock())
            drop_imported(session, layout_id)
            return Adopted(len(counted), len(stored.imported) - len(counted))

    def drop_imported(self, layout_id: str) -> int:
        """Drop the readings that came with a document and do not count; returns how many there were.

        Raises:
            NotFoundError: no such layout.
        """
        with writing(self._engine) as session:
            count = len(find_layout(session, layout_id).imported)
            drop_imported(session, layout_id)
            return count


def other_readings(wanted: Iterable[Reading], now: Iterable[Reading]) -> list[Reading]:
    """Those of the readings that say something else than what stands at their cavities."""
    standing = {(each.port, each.cavity): each for each in now}
    return [each for each in wanted if standing.get((each.port, each.cavity), Reading(each.port, each.cavity)) != each]
