"""What a person can do with the revisions of a build: name one, hold two against each other, see what one cost."""

from collections.abc import Callable
from dataclasses import dataclass

from sqlalchemy.engine import Engine
from sqlmodel import Session

from server.documents.build_json import read_build
from server.domain.differences import NOTHING, Difference, Digest, difference, digest
from server.domain.plan import plan
from server.domain.words import changes_in_words
from server.services.opened import Opened
from server.services.shapes import PathRecords
from server.store.builds import revision
from server.store.database import reading, writing
from server.store.revision_names import name_revision, revision_names, unname_revision

DIGESTS_KEPT = 200
"""Digests of plans held in memory; each is a few kilobytes."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two revisions of a build, held against each other."""

    first: int
    second: int
    words: tuple[str, ...]
    """What the second changed, in sentences."""
    difference: Difference


@dataclass(frozen=True, slots=True)
class Since:
    """What a build costs as it stands, beyond its newest named revision with nothing bought yet."""

    number: int
    name: str
    now: int
    """Number of the revision that it is held against."""
    difference: Difference


class RevisionRecords(PathRecords):
    """Revisions of builds, over one database.

    Two revisions are compared as if nothing had been bought or cut. What a build costs since its newest named revision
    is told of the build as it stands, with what is bought and cut, so that it agrees with the estimate.
    """

    def __init__(self, engine: Engine, clock: Callable[[], str]) -> None:
        """Keep records in a database.

        Args:
            engine: A database from ``open_database`` with the catalogue installed.
            clock: Gives the moment of saving, ISO 8601 text.
        """
        super().__init__(engine, clock)
        self._digests: dict[tuple[str, int, str], Digest] = {}

    def name_revision(self, build_id: str, number: int, name: str) -> None:
        """Give a revision a name, such as 'agreed with client'; the revision itself never changes.

        Raises:
            InvalidInputError: the name is empty or too long.
            NotFoundError: no such build or revision.
        """
        with writing(self._engine) as session:
            name_revision(session, build_id, number, name.strip(), at=self._clock())

    def unname_revision(self, build_id: str, number: int) -> None:
        """Take a revision's name away.

        Raises:
            NotFoundError: no such build or revision, or it has no name.
        """
        with writing(self._engine) as session:
            unname_revision(session, build_id, number)

    def revision_names(self, build_id: str) -> dict[int, str]:
        """Names of a build's revisions by their number, the oldest first."""
        with reading(self._engine) as session:
            return revision_names(session, build_id)

    def compare(self, build_id: str, first: int, second: int) -> Comparison:
        """What the second of two revisions changed against the first, whichever is older.

        Raises:
            NotFoundError: no such build or revision.
        """
        with reading(self._engine) as session:
            catalogue = self.catalogue_in(session)[1]
            before, after = (read_build(revision(session, build_id, n).document) for n in (first, second))
            made = difference(self._digest(session, build_id, first), self._digest(session, build_id, second))
            return Comparison(first, second, changes_in_words(before, after, catalogue), made)

    def effect(self, build_id: str, number: int) -> Difference:
        """What one revision changed against the one before it, or against nothing where it is the first.

        Raises:
            NotFoundError: no such build or revision.
        """
        with reading(self._engine) as session:
            after = self._digest(session, build_id, number)
            return difference(self._digest(session, build_id, number - 1) if number > 1 else NOTHING, after)

    def effect_if_known(self, build_id: str, number: int) -> Difference | None:
        """The same where it takes no planning; ``None`` where it does."""
        with reading(self._engine) as session:
            stamp = self.catalogue_in(session)[0]
        with self._lock:
            after = self._digests.get((build_id, number, stamp))
            before = self._digests.get((build_id, number - 1, stamp)) if number > 1 else NOTHING
        return difference(before, after) if before is not None and after is not None else None

    def since_named(self, opened: Opened) -> Since | None:
        """What a build costs beyond its newest named revision; ``None`` where none up to this one has a name.

        The build counts as its estimate has it, with what is on hand and spent; the named revision with nothing on
        hand, as it was agreed.
        """
        with reading(self._engine) as session:
            names = revision_names(session, opened.build_id)
            named = [number for number in names if number <= opened.revision]
            if not named:
                return None
            self._take_over(session, opened)
            before = self._digest(session, opened.build_id, named[-1])
            return Since(named[-1], names[named[-1]], opened.revision, difference(before, digest(opened.plan)))

    def _take_over(self, session: Session, opened: Opened) -> None:
        """Spare planning a build once more where nothing is on hand for it, so that its plan counts the whole of it."""
        held = opened.on_hand
        stamp, catalogue = self.catalogue_in(session)
        if catalogue is opened.catalogue and not (held.lots or held.pieces or held.takes or held.spent or held.lost):
            with self._lock:
                self._digests.setdefault((opened.build_id, opened.revision, stamp), digest(opened.plan))

    def _digest(self, session: Session, build_id: str, number: int) -> Digest:
        """What is kept of a revision's plan, made with nothing on hand."""
        stamp, catalogue = self.catalogue_in(session)
        where = build_id, number, stamp
        with self._lock:
            if known := self._digests.get(where):
                return known
        made = digest(plan(read_build(revision(session, build_id, number).document), catalogue))
        with self._lock:
            while len(self._digests) >= DIGESTS_KEPT:
                del self._digests[next(iter(self._digests))]
            self._digests[where] = made
        return made
