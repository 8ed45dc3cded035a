"""What the bench has taught: measured minutes and spares, taken into the tables by a person and never by themselves."""

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from sqlalchemy.engine import Engine
from sqlmodel import Session

from server.documents.build_json import read_build
from server.domain import ledger
from server.domain.bench_steps import refused
from server.domain.errors import NotFoundError
from server.domain.estimate import retimed
from server.domain.learning import MeasuredTime, measured_times
from server.domain.losses import Loss, MeasuredLoss, losses_of, measured_loss, thrown_away
from server.domain.model.bench import Pace, Timed
from server.domain.model.build import Build, Spare, SpareOf
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Estimate, RunPlan
from server.domain.plan import plan, runs_alone
from server.domain.reference import CURRENCY_DIGITS, SPARES
from server.services.bench_rules import check_entry
from server.services.builds import BuildDesk
from server.services.ledger_records import LedgerState
from server.services.opened import Opened
from server.services.records import now_utc
from server.store.builds import latest_revision, list_builds
from server.store.catalogue_edits import clear_catalogue_value, set_catalogue_value
from server.store.catalogue_overlay import edits_of
from server.store.database import reading, writing
from server.store.ledger import append
from server.store.stock_rows import same_value, stock_rows

RUNS_KEPT = 64
"""Builds whose planned runs are held in memory."""
TABLE = "labour"


@dataclass(frozen=True, slots=True)
class LearnedTime:
    """One operation as it was timed, and what the build would come to with its minutes."""

    measured: MeasuredTime
    after: Estimate
    """With the measured minutes."""
    back: Estimate
    """With the shipped minutes."""


@dataclass(frozen=True, slots=True)
class LearnedLoss:
    """One kind of spare as it was measured, and what the build would come to with it."""

    measured: MeasuredLoss
    after: Estimate | None
    """With the suggested spare; ``None`` where none is suggested."""


class LearningDesk:
    """Holds tables against the ledger, and takes what was measured into them, over one database."""

    def __init__(self, engine: Engine, builds: BuildDesk, clock: Callable[[], str] = now_utc) -> None:
        """Open the desk.

        Args:
            engine: A database from ``open_database`` with the catalogue installed.
            builds: The desk of builds on the same database.
            clock: Gives the moment of writing, ISO 8601 text.
        """
        self._engine, self._builds, self._clock = engine, builds, clock
        self._lock = threading.Lock()
        self._runs: dict[tuple[str, int, str], tuple[RunPlan, ...]] = {}

    # ---- reading -----------------------------------------------------------------------------------------------

    def times(self, build_id: str = "") -> tuple[MeasuredTime, ...]:
        """Every operation that was timed, in all builds together; those of one build are told apart."""
        with reading(self._engine) as session:
            return self._times(session, self._builds.ledger.state(session), build_id)

    def learned_times(self, opened: Opened) -> tuple[LearnedTime, ...]:
        """Every operation that was timed, with what the build would come to.

        Args:
            opened: The build as it stands.
        """
        estimate, rates = opened.plan.estimate, opened.build.rates
        digits = CURRENCY_DIGITS.get(rates.currency, 2)
        return tuple(
            LearnedTime(
                found,
                retimed(estimate, found.operation, found.minutes, rates, digits),
                retimed(estimate, found.operation, found.shipped, rates, digits),
            )
            for found in self.times(opened.build_id)
        )

    def learned_losses(self, opened: Opened) -> tuple[LearnedLoss, ...]:
        """Every kind of spare of which something was used or lost, with what the build would come to.

        Args:
            opened: The build as it stands.
        """
        with reading(self._engine) as session:
            every = self._losses(session)
        measured = (measured_loss(of, every.get(of, Loss()), opened.build.allowances) for of in _SPARES)
        return tuple(_with_estimate(found, opened) for found in measured if found is not None)

    # ---- writing -----------------------------------------------------------------------------------------------

    def take_minutes(self, operation: str, minutes: Decimal) -> None:
        """Count an operation with the minutes that the bench measured, in every build.

        Args:
            operation: Of the labour table.
            minutes: What the person saw as measured. [min]

        Raises:
            InvalidInputError: the bench has measured something else meanwhile, or too little.
            NotFoundError: the operation was never timed, or there is none of that name.
        """
        with writing(self._engine) as session:
            found = self._found(session, operation)
            if found.missing:
                raise refused("minutes", f"only {found.timed.count} were timed: {found.missing} more are needed")
            if found.minutes != minutes:
                told = f"the bench has measured {found.minutes} min by now, not {minutes}"
                raise refused("minutes", f"{told}: look at it again")
            set_minutes(session, operation, minutes, found)

    def shipped_minutes(self, operation: str) -> None:
        """Count an operation with the shipped minutes again, in every build; nothing happens where it does.

        Raises:
            NotFoundError: there is no operation of that name.
        """
        with writing(self._engine) as session:
            if operation not in self._builds.catalogue_in(session)[1].labour:
                raise NotFoundError(f'The labour table has no "{operation[:80]}".')
            clear_minutes(session, operation)

    def write_time(self, entry: Timed, base: int) -> int:
        """Write down a time that was taken by hand, and return the entry's number.

        Args:
            entry: What was timed.
            base: Last number of the ledger that the person saw, so that a double click writes one time.

        Raises:
            InvalidInputError: the operation is unknown, a number makes no sense, or the same time was written since.
            NotFoundError: no such build.
        """
        with writing(self._engine) as session:
            latest_revision(session, entry.build)
            catalogue = self._builds.catalogue_in(session)[1]
            if entry.operation not in catalogue.labour:
                raise refused("operation", "pick one of the list")
            state = self._builds.ledger.state(session)
            if entry in state.entries[base:] and base <= state.number:
                raise refused("base", "this very time was written meanwhile, so nothing was done: load the page again")
            check_entry(entry, (), catalogue)
            ledger.after(state.entries, state.bench, entry)
            return append(session, entry, at=self._clock())

    def take_spare(self, build_id: str, base: int, of: SpareOf, spare: Spare) -> Opened:
        """Give a build the spares that the bench measured, as a revision.

        Args:
            build_id: The build.
            base: Revision that the person saw.
            of: What they are.
            spare: The suggestion that the person saw.

        Raises:
            ConflictError: the build was changed since.
            InvalidInputError: the bench suggests something else meanwhile.
            NotFoundError: no such build.
        """
        with reading(self._engine) as session:
            loss = self._losses(session).get(of, Loss())
        allowances = self._builds.open(build_id).build.allowances
        found = measured_loss(of, loss, allowances)
        if found is None or found.state == "few" or found.spare != spare:
            raise refused("spare", "the bench has measured something else by now: look at it again")
        words = (f"{of} as the bench measured: {loss.lost} lost on {loss.used} used",)
        return self._builds.save(build_id, base, lambda build, _: with_spare(build, of, spare), first_words=words)

    # ---- what both lean on -------------------------------------------------------------------------------------

    def _times(self, session: Session, state: LedgerState, build_id: str = "") -> tuple[MeasuredTime, ...]:
        labour = self._builds.catalogue_in(session)[1].labour
        shipped = {row.id: Decimal(row.value("minutes").shipped) for row in stock_rows(session, TABLE)}
        return measured_times(state.bench.paces, labour, shipped, build_id)

    def _found(self, session: Session, operation: str) -> MeasuredTime:
        for found in self._times(session, self._builds.ledger.state(session)):
            if found.operation == operation:
                return found
        raise NotFoundError(f'Nothing was timed of "{operation[:80]}".')

    def _losses(self, session: Session) -> Mapping[SpareOf, Loss]:
        """What became of spares in every build that is not put away, and on the shelf."""
        state = self._builds.ledger.state(session)
        stamp, catalogue = self._builds.catalogue_in(session)
        begun = {piece.build for piece in state.bench.pieces.values()} | {key[0] for key in state.bench.takes}
        total = dict(thrown_away(state.entries, state.bench, catalogue))
        for build in list_builds(session):
            if build.build_id in begun:
                runs = self._planned(session, build.build_id, stamp, catalogue)
                for of, loss in losses_of(runs, state.bench, build.build_id, catalogue).items():
                    total[of] = total.get(of, Loss()).plus(loss)
        return total

    def _planned(self, session: Session, build_id: str, stamp: str, catalogue: Catalogue) -> tuple[RunPlan, ...]:
        """The runs of a build as they are planned now; they do not hang on the ledger, so that they are kept."""
        stored = latest_revision(session, build_id)
        where = build_id, stored.number, stamp
        with self._lock:
            if where in self._runs:
                return self._runs[where]
        made = runs_alone(read_build(stored.document), catalogue)
        with self._lock:
            while len(self._runs) >= RUNS_KEPT:
                del self._runs[next(iter(self._runs))]
            self._runs[where] = made
        return made


_SPARES: tuple[SpareOf, ...] = ("contacts", "shrink", "combs")


def with_spare(build: Build, of: SpareOf, spare: Spare) -> Build:
    """A build with other spares of one kind; those that its skill gives anyway are not set by hand."""
    held = build.allowances
    others: dict[SpareOf, Spare] = {kind: own for kind, own in held.spares.items() if kind != of}
    own = {} if spare == SPARES[held.skill][of] else {of: spare}
    return replace(build, allowances=replace(held, spares={**others, **own}))


def _with_estimate(found: MeasuredLoss, opened: Opened) -> LearnedLoss:
    """A measured loss with the price that its spares would give; the build is planned once more for that."""
    if found.state != "differs":
        return LearnedLoss(found, None)
    build = with_spare(opened.build, found.of, found.spare)
    after = opened.once(
        f"with spare {found.of} {found.spare}", lambda: plan(build, opened.catalogue, opened.on_hand).estimate
    )
    return LearnedLoss(found, after)


def set_minutes(session: Session, operation: str, minutes: Decimal, found: MeasuredTime) -> None:
    """Lay measured minutes over the labour table, and say where they come from.

    Args:
        session: A session from ``writing``.
        operation: Of the labour table.
        minutes: Measured. [min]
        found: How many were timed, and the shipped minutes.
    """
    if same_value(str(minutes), str(found.shipped)):
        clear_minutes(session, operation)
        return
    set_catalogue_value(session, TABLE, operation, "minutes", str(minutes))
    set_catalogue_value(session, TABLE, operation, "source", bench_source(found.timed))


def clear_minutes(session: Session, operation: str) -> None:
    """Take the builder's own minutes of an operation away, with the source that was named for them."""
    own = edits_of(session, TABLE).get(operation, {})
    for column in ("source", "minutes"):
        if column in own:
            clear_catalogue_value(session, TABLE, operation, column)


def bench_source(timed: Pace) -> str:
    """What the labour table names as the source of minutes that were taken from the bench."""
    return f"your bench, {timed_words(timed)}"


def timed_words(timed: Pace) -> str:
    """How many were timed in how long: ``48 timed in 33 min 36 s``."""
    return f"{timed.count} timed in {took_words(timed.seconds)}"


def took_words(taken_s: int) -> str:
    """A time in hours, minutes and seconds, without idle zeros: ``33 min 36 s``."""
    hours, rest = divmod(taken_s, 3600)
    minutes, seconds = divmod(rest, 60)
    return " ".join(f"{n} {unit}" for n, unit in ((hours, "h"), (minutes, "min"), (seconds, "s")) if n)
