"""What a person can do with builds: one method per intent, one transaction each."""

import hashlib
import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

from sqlalchemy.engine import Engine

from server.documents.build_json import read_build, write_build
from server.domain import by_hand, edits, limits
from server.domain.edits import RouteEntry
from server.domain.errors import NotFoundError
from server.domain.late import LateRange, add_late, late_ranges
from server.domain.model.build import (
    Allowances,
    Branching,
    Build,
    Finish,
    Forbidden,
    Method,
    PartKind,
    Pinned,
    Rates,
    Remedy,
    RunFinish,
)
from server.domain.model.catalogue import Catalogue, Use
from server.domain.plan import plan
from server.domain.proposing import Place, places_by_run, propose
from server.domain.recipes import RECIPES, PartRecipe
from server.services.label_records import LabelRecords
from server.services.opened import ExampleInfo, Opened, ShareInfo
from server.services.records import check, now_utc
from server.services.revisions import RevisionRecords
from server.store.builds import (
    BuildSummary,
    RevisionSummary,
    delete_build,
    latest_revision,
    list_builds,
    restore_build,
    revision,
    revisions,
)
from server.store.database import reading, writing
from server.store.shares import create_share, find_share, list_shares, revoke_share

TOKEN_BYTES = 24
"""Random bytes of a share link's secret: 192 bits."""


@dataclass(frozen=True, slots=True)
class _Example:
    info: ExampleInfo
    path: Path


class BuildDesk(RevisionRecords, LabelRecords):
    """Builds, their revisions and their share links, over one database."""

    def __init__(self, engine: Engine, examples: Path, clock: Callable[[], str] = now_utc) -> None:
        """Open the desk.

        Args:
            engine: A database from ``open_database`` with the catalogue installed.
            examples: Folder of example builds.
            clock: Gives the moment of saving, ISO 8601 text.
        """
        super().__init__(engine, clock)
        self._examples = {path.stem: self._example(path) for path in sorted(examples.glob("*.json"))}

    # ---- reading -----------------------------------------------------------------------------------------------

    def catalogue(self) -> Catalogue:
        """The reference data with the builder's own edits applied."""
        with reading(self._engine) as session:
            return self.catalogue_in(session)[1]

    def list_builds(self, search: str = "") -> tuple[BuildSummary, ...]:
        """Builds that are not deleted, newest first; ``search`` holds words that the name must contain."""
        with reading(self._engine) as session:
            return list_builds(session, search)

    def examples(self) -> tuple[ExampleInfo, ...]:
        """The example builds."""
        return tuple(example.info for example in self._examples.values())

    def recipes(self) -> tuple[PartRecipe, ...]:
        """Usual parts to pick from."""
        return RECIPES

    def open(self, build_id: str, number: int | None = None) -> Opened:
        """A build at its newest revision, or at an earlier one.

        Raises:
            NotFoundError: no such build or revision.
        """
        with reading(self._engine) as session:
            stored = latest_revision(session, build_id) if number is None else revision(session, build_id, number)
            return self.opened(session, stored)

    def revisions(self, build_id: str) -> tuple[RevisionSummary, ...]:
        """History of a build, newest first."""
        with reading(self._engine) as session:
            return revisions(session, build_id)[::-1]

    def places_by_run(self, opened: Opened) -> dict[str, tuple[Place, ...]]:
        """Sockets that each run could start from: every way that carries the nets it wants."""
        return opened.lasting("places", lambda: places_by_run(opened.build, opened.catalogue))

    def late_ranges(self, opened: Opened) -> dict[Use, LateRange]:
        """The range that a fan or a light added late gets as its route, by use."""
        return opened.lasting("late ranges", lambda: late_ranges(opened.build, opened.catalogue))

    def export_json(self, build_id: str) -> str:
        """The newest revision as a build document."""
        return write_build(self.open(build_id).build)

    def plan_document(self, text: bytes | str) -> Opened:
        """Plan a document without storing anything.

        Raises:
            InvalidInputError: the document cannot be read, or may not be saved.
        """
        build = read_build(text)
        catalogue = self.catalogue()
        check(build, catalogue)
        return Opened("", 0, "", build, plan(build, catalogue), catalogue)

    # ---- whole builds ------------------------------------------------------------------------------------------

    def create(self, name: str) -> Opened:
        """A new, empty build."""
        return self.create_as(Build(name=name.strip()), ("new build",))

    def create_example(self, example_id: str) -> Opened:
        """A build of one's own that starts as an example."""
        example = self._examples.get(example_id)
        if example is None:
            raise NotFoundError(f"there is no example '{example_id}'")
        return self.create_as(read_build(example.path.read_bytes()), (f"started from the example '{example_id}'",))

    def import_json(self, text: bytes | str) -> Opened:
        """A new build from a document."""
        return self.create_as(read_build(text), ("imported",))

    def duplicate(self, build_id: str) -> Opened:
        """A copy of the newest revision as a build of its own."""
        build = self.open(build_id).build
        copy = replace(build, name=f"{build.name[: limits.NAME_MOST - 5]} copy")
        return self.create_as(copy, (f"copy of '{build.name}'",))

    def delete(self, build_id: str) -> str:
        """Put a build away and return its name; ``restore`` brings it back."""
        with writing(self._engine) as session:
            name = read_build(latest_revision(session, build_id).document).name
            delete_build(session, build_id)
            return name

    def restore(self, build_id: str) -> Opened:
        """Bring a deleted build back."""
        with writing(self._engine) as session:
            restore_build(session, build_id)
        return self.open(build_id)

    def go_back(self, build_id: str, base: int, number: int) -> Opened:
        """Make an earlier revision the newest one, as a new revision."""
        earlier = self.open(build_id, number).build
        words = (f"went back to revision {number}",)
        return self.save(build_id, base, lambda now, _: _with_numbers_used_up(earlier, now), first_words=words)

    def put_document(self, build_id: str, base: int, text: bytes | str) -> Opened:
        """Replace a build by a document."""
        build = read_build(text)
        return self.save(build_id, base, lambda now, _: _with_numbers_used_up(build, now))

    # ---- share links -------------------------------------------------------------------------------------------

    def share(self, build_id: str) -> str:
        """Make a share link and return its secret, which is stored only as a hash."""
        token = secrets.token_urlsafe(TOKEN_BYTES)
        with writing(self._engine) as session:
            create_share(session, build_id, _hashed(token), self._clock())
        return token

    def shares(self, build_id: str) -> tuple[ShareInfo, ...]:
        """Share links in force."""
        with reading(self._engine) as session:
            return tuple(ShareInfo(share.token_hash, share.created_at) for share in list_shares(session, build_id))

    def revoke_share(self, build_id: str, share_id: str) -> None:
        """End a share link for good."""
        with writing(self._engine) as session:
            revoke_share(session, build_id, share_id)

    def open_shared(self, token: str) -> Opened:
        """The build that a share link leads to.

        Raises:
            NotFoundError: no such link is in force.
        """
        with reading(self._engine) as session:
            return self.opened(session, latest_revision(session, find_share(session, _hashed(token))))

    # ---- edits: each saves one revision, or none when nothing changed ------------------------------------------

    def rename(self, build_id: str, base: int, name: str, client: str, notes: str) -> Opened:
        """Change name, client and notes."""
        return self.save(build_id, base, lambda b, _: replace(b, name=name.strip(), client=client.strip(), notes=notes))

    def choose_supply(self, build_id: str, base: int, layout_id: str) -> Opened:
        """Take another supply layout."""
        return self.save(build_id, base, lambda b, c: edits.choose_supply(b, c, layout_id))

    def add_parts(self, build_id: str, base: int, recipe_id: str, count: int, name: str = "") -> Opened:
        """Add parts by recipe and propose their runs."""
        return self.save(build_id, base, lambda b, c: edits.add_parts(b, c, recipe_id, count, name))

    def add_late(self, build_id: str, base: int, recipe_id: str, count: int) -> Opened:
        """Add fans or lights with runs from free headers, everything else untouched."""
        return self.save(build_id, base, lambda b, c: add_late(b, c, recipe_id, count))

    def add_custom_part(
        self, build_id: str, base: int, kind: PartKind, name: str, pinouts: tuple[str, ...], chain: str
    ) -> Opened:
        """Add a part with sockets of one's own choice."""
        return self.save(build_id, base, lambda b, c: edits.add_custom_part(b, c, kind, name.strip(), pinouts, chain))

    def rename_part(self, build_id: str, base: int, part_id: str, name: str) -> Opened:
        """Give a part another name."""
        return self.save(build_id, base, lambda b, _: edits.rename_part(b, part_id, name.strip()))

    def remove_part(self, build_id: str, base: int, part_id: str) -> Opened:
        """Take a part out, with its ends of runs."""
        return self.save(build_id, base, lambda b, _: edits.remove_part(b, part_id))

    def propose_runs(self, build_id: str, base: int) -> Opened:
        """Propose runs for inlets that none feeds."""
        return self.save(build_id, base, propose)

    def move_run(self, build_id: str, base: int, run_id: str, sources: tuple[tuple[str, str], ...]) -> Opened:
        """Start a run from other sockets."""
        return self.save(build_id, base, lambda b, c: edits.move_run(b, c, run_id, sources))

    def split_chain(self, build_id: str, base: int, run_id: str, keep: int) -> Opened:
        """Cut a chain or a fork in two behind its first ``keep`` plugs."""
        return self.save(build_id, base, lambda b, c: edits.split_chain(b, c, run_id, keep))

    def set_branching(self, build_id: str, base: int, run_id: str, branching: Branching) -> Opened:
        """Choose how the part plugs of a run hang on it: as a chain or as a fork."""
        return self.save(build_id, base, lambda b, _: edits.set_branching(b, run_id, branching))

    def add_run(
        self,
        build_id: str,
        base: int,
        source: tuple[str, str] | None,
        ends: tuple[tuple[str, str], ...],
        name: str,
        branching: Branching = "chain",
    ) -> Opened:
        """Add a run of one's own."""
        return self.save(build_id, base, lambda b, _: edits.add_run(b, source, ends, name, branching))

    def remove_run(self, build_id: str, base: int, run_id: str) -> Opened:
        """Take a run out."""
        return self.save(build_id, base, lambda b, _: edits.remove_run(b, run_id))

    def rename_run(self, build_id: str, base: int, run_id: str, name: str) -> Opened:
        """Give a run a name of its own; an empty name goes back to the usual one."""
        return self.save(build_id, base, lambda b, _: edits.change_run(b, run_id, name=name.strip()))

    def set_optional(self, build_id: str, base: int, run_id: str, cavities: tuple[str, ...]) -> Opened:
        """Choose which optional cavities of a run are wired."""
        return self.save(build_id, base, lambda b, _: edits.change_run(b, run_id, optional=cavities))

    def set_pins(
        self, build_id: str, base: int, run_id: str, pins: tuple[Pinned, ...], forbidden: tuple[Forbidden, ...]
    ) -> Opened:
        """Put wires of a run by hand and forbid source cavities."""
        return self.save(build_id, base, lambda b, c: by_hand.set_pins(b, c, run_id, pins, forbidden))

    def set_shared(
        self, build_id: str, base: int, run_id: str, part: str, socket: str, cavity: str, remedy: Remedy
    ) -> Opened:
        """Choose what is done with a contact that would hold two wires."""
        return self.save(build_id, base, lambda b, _: by_hand.set_shared(b, run_id, (part, socket, cavity), remedy))

    def set_method(self, build_id: str, base: int, run_id: str, method: Method, own_cable_mm: float | None) -> Opened:
        """Choose how a run is built: new, from the supply's own cable, or as its extension."""
        return self.save(build_id, base, lambda b, c: by_hand.set_method(b, c, run_id, method, own_cable_mm))

    def set_routes(self, build_id: str, base: int, routes: Mapping[str, RouteEntry]) -> Opened:
        """Take lengths, ranges, spacings and extra reach for several runs."""
        return self.save(build_id, base, lambda b, _: edits.set_routes(b, routes))

    def set_finish(self, build_id: str, base: int, finish: Finish) -> Opened:
        """Change the build's finish."""
        return self.save(build_id, base, lambda b, _: replace(b, finish=finish))

    def set_run_finish(self, build_id: str, base: int, run_id: str, finish: RunFinish) -> Opened:
        """Change what one run does otherwise."""
        return self.save(build_id, base, lambda b, _: edits.change_run(b, run_id, finish=finish))

    def set_allowances(self, build_id: str, base: int, allowances: Allowances) -> Opened:
        """Change allowances and spares."""
        return self.save(build_id, base, lambda b, _: replace(b, allowances=allowances))

    def set_rates(self, build_id: str, base: int, rates: Rates) -> Opened:
        """Change currency, hourly rate and percentages."""
        return self.save(build_id, base, lambda b, _: replace(b, rates=rates))

    def set_price(self, build_id: str, base: int, pack_id: str, price: Decimal | None) -> Opened:
        """Give a pack its price in this build, or ``None`` for the catalogue's."""

        def edit(build: Build, _: Catalogue) -> Build:
            others = {pack: own for pack, own in build.prices.items() if pack != pack_id}
            return replace(build, prices=others if price is None else {**others, pack_id: price})

        return self.save(build_id, base, edit)

    @staticmethod
    def _example(path: Path) -> _Example:
        build = read_build(path.read_bytes())
        return _Example(ExampleInfo(path.stem, build.name, build.notes), path)


def _with_numbers_used_up(build: Build, now: Build) -> Build:
    """A build in which no run number and no part id comes back with another meaning."""
    return replace(
        build,
        next_number=max(now.next_number, build.next_number),
        next_part=max(now.next_part, build.next_part),
    )


def _hashed(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
