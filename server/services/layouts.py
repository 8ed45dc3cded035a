"""What a builder can do with supply layouts of their own: record sockets and nets, meter them, keep every version."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from server.documents.layout_json import read_layout, read_sent_layout, write_layout
from server.domain.layout_edits import (
    Facts,
    NewPort,
    PortEntry,
    with_facts,
    with_new_port,
    with_port,
    without_port,
)
from server.domain.layout_rules import NAME_MOST
from server.domain.metering import Progress, progress
from server.domain.model.catalogue import Catalogue, SupplyLayout
from server.services.layout_readings import Adopted, LayoutReadings, other_readings
from server.services.layout_records import OpenedLayout, check_layout, sample_or_own
from server.store.database import reading as reading_session
from server.store.database import writing
from server.store.layouts import (
    StoredLayout,
    VersionSummary,
    delete_layout,
    find_layout,
    layout_versions,
    list_layouts,
    restore_layout,
    used_port_ids,
)

__all__ = ["Adopted", "Facts", "LayoutDesk", "LayoutEntry", "NewPort", "OpenedLayout", "PortEntry", "VersionSummary"]

SOURCE = "recorded by the builder"


@dataclass(frozen=True, slots=True)
class LayoutEntry:
    """A layout as it stands in a list."""

    layout: SupplyLayout
    saved_at: str
    """Moment of saving its newest version, ISO 8601 text; empty for a sample."""
    progress: Progress
    imported: int = 0
    """Readings that came with a document and do not count."""


class LayoutDesk(LayoutReadings):
    """Own layouts over one database; the samples that come with the planner can be copied but not changed."""

    # ---- reading -----------------------------------------------------------------------------------------------

    def list(self) -> tuple[LayoutEntry, ...]:
        """Every layout to choose from: the samples, then those of one's own in the order they were begun."""
        with reading_session(self._engine) as session:
            catalogue = self.catalogue_in(session)
            samples = [LayoutEntry(each, "", progress(each)) for each in catalogue.supplies.values() if not each.own]
            return (*samples, *(_entry(stored) for stored in list_layouts(session)))

    def deleted(self) -> tuple[LayoutEntry, ...]:
        """Own layouts that were put away and can be brought back."""
        with reading_session(self._engine) as session:
            return tuple(_entry(stored) for stored in list_layouts(session, deleted=True))

    def versions(self, layout_id: str) -> tuple[VersionSummary, ...]:
        """History of a layout, newest first.

        Raises:
            NotFoundError: no such layout.
        """
        with reading_session(self._engine) as session:
            return layout_versions(session, layout_id)[::-1]

    def export_json(self, layout_id: str, number: int | None = None) -> str:
        """A layout as a document: an own one at its newest or a named version, or a sample.

        Raises:
            NotFoundError: no such layout or version.
        """
        with reading_session(self._engine) as session:
            sample = self.catalogue_in(session).supplies.get(layout_id)
            if sample is not None and not sample.own:
                return write_layout(sample)
            return write_layout(find_layout(session, layout_id, number).layout)

    # ---- whole layouts -----------------------------------------------------------------------------------------

    def copy(self, layout_id: str, name: str = "") -> OpenedLayout:
        """A layout of one's own that begins as a copy of another; readings stay with the supply they were taken from.

        Raises:
            NotFoundError: no such layout.
        """
        with writing(self._engine) as session:
            found = sample_or_own(self.catalogue_in(session), layout_id)
            called = name.strip() or f"{found.name[: NAME_MOST - 5]} copy"
            copy = replace(found, name=called, source=f"{SOURCE}, begun from '{found.name}'", readings=())
            left = ("its readings stay with it: the copy has to be metered anew",) if found.readings else ()
            return self.create_as(session, copy, (f"copy of '{found.name}'", *left))

    def start(self, name: str) -> OpenedLayout:
        """A layout of one's own without ports yet."""
        with writing(self._engine) as session:
            return self.create_as(session, SupplyLayout("", name.strip(), "", SOURCE, ()), ("new layout",))

    def import_json(self, text: bytes | str, *, same_supply: bool = False) -> OpenedLayout:
        """A layout of one's own from a file.

        Args:
            text: The document.
            same_supply: The builder's word that its readings were taken on this very supply, the same type and the
                same unit; without it they are kept for comparison and do not count.

        Raises:
            InvalidInputError: the document cannot be read, or holds what no layout may hold.
        """
        return self._imported(read_layout(text), same_supply)

    def import_sent(self, text: bytes | str) -> OpenedLayout:
        """A layout of one's own from a document that says itself, in ``same_supply``, whether its readings count.

        Raises:
            InvalidInputError: the document cannot be read, or holds what no layout may hold.
        """
        return self._imported(*read_sent_layout(text))

    def put_document(self, layout_id: str, base: int, text: bytes | str) -> OpenedLayout:
        """Replace a layout by a document.

        Readings in it that differ are written down where the document says ``same_supply``; without that they are kept
        for comparison and do not count.

        Raises:
            InvalidInputError: the document cannot be read, or holds what no layout may hold.
            NotFoundError: no such layout or version.
            ConflictError: a newer version than ``base`` was saved.
        """
        wanted, same_supply = read_sent_layout(text)

        def edit(now: SupplyLayout, catalogue: Catalogue) -> SupplyLayout:
            # Checked with its readings, so that nothing is saved when one of them cannot be.
            check_layout(wanted, catalogue)
            return replace(wanted, id=now.id, version=now.version, own=True)

        opened = self.save(layout_id, base, edit)
        others = other_readings(wanted.readings, opened.layout.readings)
        if not others:
            return opened
        if same_supply:
            self.record(layout_id, others)
        else:
            self.keep_for_comparison(layout_id, others)
        return self.open(layout_id)

    def delete(self, layout_id: str) -> str:
        """Put a layout away and return its name. Builds that use it keep the version they were planned with."""
        with writing(self._engine) as session:
            name = find_layout(session, layout_id).layout.name
            delete_layout(session, layout_id)
            return name

    def restore(self, layout_id: str) -> OpenedLayout:
        """Bring a layout back that was put away."""
        with writing(self._engine) as session:
            restore_layout(session, layout_id)
            return self.opened(session, find_layout(session, layout_id))

    # ---- edits: each saves one version, or none when nothing changed -------------------------------------------

    def change(
        self,
        layout_id: str,
        base: int,
        *,
        facts: Facts | None = None,
        ports: Mapping[str, PortEntry] | None = None,
        new: NewPort | None = None,
        without: str = "",
    ) -> OpenedLayout:
        """Everything that a builder wrote down at once, as one version.

        Args:
            layout_id: Id of the layout.
            base: Number of the version that the change was made on.
            facts: Name, notes, edition and greatest currents.
            ports: By port id, what was written down about it; what is about the port ``without`` is left out.
            new: A port to add.
            without: Id of a port to take out; an earlier version keeps it.

        Raises:
            InvalidInputError: the layout may not be saved as it would become.
            NotFoundError: no such layout, version or port.
            ConflictError: a newer version than ``base`` was saved.
        """
        with reading_session(self._engine) as session:
            taken = used_port_ids(session, layout_id)

        def edit(now: SupplyLayout, catalogue: Catalogue) -> SupplyLayout:
            after = now if facts is None else with_facts(now, facts)
            for port_id, entry in (ports or {}).items():
                after = after if port_id == without else with_port(after, port_id, entry)
            after = without_port(after, without) if without else after
            return after if new is None else with_new_port(after, catalogue, new, taken)

        return self.save(layout_id, base, edit)

    def go_back(self, layout_id: str, base: int, number: int) -> OpenedLayout:
        """Make an earlier version the newest one, as a new version; readings stay as they are.

        Raises:
            InvalidInputError: the earlier version may not be saved any more, such as where a housing is gone.
            NotFoundError: no such layout or version.
            ConflictError: a newer version than ``base`` was saved.
        """
        earlier = self.open(layout_id, number).layout
        words = (f"went back to version {number}",)
        return self.save(
            layout_id, base, lambda now, _: replace(earlier, version=now.version), words, ports_return=True
        )

    # ---- inside ------------------------------------------------------------------------------------------------

    def _imported(self, layout: SupplyLayout, same_supply: bool) -> OpenedLayout:
        """A new layout from a document; its readings count only where they are of this very supply."""
        words, count = ("imported",), len(layout.readings)
        if count:
            many = f"with {count} reading{'' if count == 1 else 's'}"
            told = "taken on this very supply" if same_supply else "kept for comparison, not counted"
            words = (f"imported {many} {told}",)
        with writing(self._engine) as session:
            if same_supply:
                return self.create_as(session, layout, words)
            return self.create_as(session, replace(layout, readings=()), words, imported=layout.readings)


def _entry(stored: StoredLayout) -> LayoutEntry:
    return LayoutEntry(stored.layout, stored.saved_at, progress(stored.layout), len(stored.imported))
