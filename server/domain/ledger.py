"""The bench ledger: what stock and pieces follow from its entries, and which entry may come next.

Nothing is counted twice and nothing goes below zero: an entry that would do so is refused, and told why. An undone
entry counts as if it had never been; it can be undone only while nothing that came after it leans on it: every later
entry must still be possible without it, and move exactly what it moved.

For each lot, at every moment, what was received and found is what is left, cut, lost at cuts, thrown away and taken
together; for money likewise, at the lot's own price by the unit. What was cut is in cables, on the shelf as new lots,
thrown away, or trimmed off.
"""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from server.domain.bench_steps import BenchSteps, refused
from server.domain.errors import InvalidInputError
from server.domain.model.bench import (
    Assign,
    Bench,
    Checked,
    Cut,
    Done,
    Entry,
    Lot,
    OnHand,
    Receive,
    Recount,
    Release,
    Reserve,
    ScrapPiece,
    ScrapStock,
    Shelve,
    Take,
    Timed,
    Trim,
    Undo,
)

NO_NAMES: Mapping[str, str] = {}


def bench_of(entries: Sequence[Entry]) -> Bench:
    """Stock and pieces after a whole ledger.

    Args:
        entries: Every entry, first to last.

    Returns:
        The bench.

    Raises:
        InvalidInputError: an entry may not follow those before it; a ledger written through ``after`` never does that.
    """
    undone = frozenset(entry.entry for entry in entries if isinstance(entry, Undo))
    steps = BenchSteps(Bench(), NO_NAMES)
    for number, entry in _counting(entries, undone):
        steps.apply(number, entry)
    return steps.bench(undone, len(entries))


def folded_on(bench: Bench, entries: Sequence[Entry]) -> Bench:
    """The bench after some more entries, none of which is an undoing.

    Args:
        bench: Stock and pieces before them.
        entries: The entries, first to last.

    Raises:
        InvalidInputError: an entry may not follow those before it.
    """
    steps = BenchSteps(bench, NO_NAMES)
    for number, entry in enumerate(entries, start=bench.entries + 1):
        steps.apply(number, entry)
    return steps.bench(bench.undone, bench.entries + len(entries))


def after(entries: Sequence[Entry], bench: Bench, entry: Entry, names: Mapping[str, str] = NO_NAMES) -> Bench:
    """The bench once one more entry is written.

    Args:
        entries: The ledger so far.
        bench: What follows from it.
        entry: The new entry.
        names: Names of builds by id, to say for whom something is kept.

    Raises:
        InvalidInputError: the entry may not be written, with the field and the reason.
    """
    number = bench.entries + 1
    if isinstance(entry, Undo):
        return _without(entries, bench, entry.entry, number, names)
    steps = BenchSteps(bench, names)
    steps.apply(number, entry, ordered=True)
    return steps.bench(bench.undone, number)


def _without(entries: Sequence[Entry], bench: Bench, undo: int, number: int, names: Mapping[str, str]) -> Bench:
    """The bench as if one entry had never been, or a refusal that names the first later entry that leans on it."""
    if not 1 <= undo <= len(entries):
        raise refused("entry", f"the ledger has no entry {undo}")
    if undo in bench.undone:
        raise refused("entry", f"entry {undo} is undone already")
    if isinstance(entries[undo - 1], Undo):
        raise refused("entry", "an undoing is not undone: write the entry again")
    counting = list(_counting(entries, bench.undone))
    before = BenchSteps(Bench(), names)
    for at, entry in counting:
        if at < undo:
            before.apply(at, entry)
    as_it_was, without = before, before.copy()
    as_it_was.apply(undo, entries[undo - 1])
    for at, entry in counting:
        if at > undo:
            ordered = _in_order(as_it_was, entry)
            moved = as_it_was.apply(at, entry)
            _must_move(moved, without, (at, entry), undo, ordered=ordered)
    return without.bench(bench.undone | {undo}, number)


def _in_order(steps: BenchSteps, entry: Entry) -> bool:
    """Whether an entry comes in the order of the stages, so that it leans on those before; an old ledger's may not."""
    if not isinstance(entry, Done):
        return True
    try:
        steps.check_order(entry)
    except InvalidInputError:
        return False
    return True


def _must_move(moved: int, without: BenchSteps, numbered: tuple[int, Entry], undo: int, *, ordered: bool) -> None:
    at, entry = numbered
    leans = f"entry {at} ({entry_name(entry)}) leans on entry {undo}"
    try:
        now = without.apply(at, entry, ordered=ordered)
    except InvalidInputError as error:
        raise refused("entry", f"{leans}, undo it first: {error.problems[0].message}") from error
    if now != moved:
        raise refused("entry", f"{leans}, undo it first: it would move {abs(now)} and not {abs(moved)}")


def _counting(entries: Sequence[Entry], undone: frozenset[int]) -> Iterable[tuple[int, Entry]]:
    """Entries that are in force, with their numbers."""
    return (
        (number, entry)
        for number, entry in enumerate(entries, start=1)
        if number not in undone and not isinstance(entry, Undo)
    )


def on_hand(bench: Bench, build: str) -> OnHand:
    """What one build may use of the shelf, and what was made for it so far.

    Args:
        bench: Stock and pieces.
        build: Id of the build.
    """
    spent = sum((lot.unit_price * lot.received for lot in bench.lots.values() if _bought_for(lot, build)), Fraction(0))
    return OnHand(
        build,
        tuple(lot for lot in bench.lots.values() if lot.free_for(build)),
        tuple(p for p in bench.pieces.values() if p.build == build and p.whereabouts == "cable"),
        {(run, material): n for (owner, run, material), n in bench.takes.items() if owner == build},
        Decimal(spent.numerator) / Decimal(spent.denominator),
        (
            *(p for p in bench.pieces.values() if p.build == build and p.whereabouts != "cable"),
            *(p for p in bench.spoilt if p.build == build),
        ),
        {run_id: check for (owner, run_id), check in bench.checks.items() if owner == build},
        {run: number for (owner, run), number in bench.last_takes.items() if owner == build},
    )


def _bought_for(lot: Lot, build: str) -> bool:
    return lot.build == build and not lot.cut_from


Thing = tuple[str, str]
"""Something that an entry is about: ``build``, ``lot``, ``piece`` or ``material``, and which one."""


def concerns(number: int, entry: Entry, entries: Sequence[Entry]) -> frozenset[Thing]:
    """What an entry is about: its build, lots, piece and material.

    Args:
        number: Number of the entry; of one not yet written, the number that it will get.
        entry: The entry.
        entries: The ledger, at least up to the entry.
    """
    match entry:
        case Undo(entry=undone):
            return concerns(undone, entries[undone - 1], entries) if 1 <= undone <= len(entries) else frozenset()
        case Receive(material=material, build=build):
            # What two builds buy of one material has nothing to do with each other; two finds may be the same one.
            of = "" if build else "/".join((material.kind, material.item, material.colour))
            found = {("lot", str(number)), ("build", build), ("material", of)}
        case Recount(lot=lot) | ScrapStock(lot=lot):
            found = {("lot", str(lot)), ("build", _build_of(lot, entries))}
        case Reserve(lot=lot, build=build) | Release(lot=lot, build=build) | Take(lot=lot, build=build):
            found = {("lot", str(lot)), ("build", build)}
        case Timed(build=build) | Checked(build=build):
            found = {("build", build)}
        case Cut(lot=lot, build=build):
            found = {("lot", str(lot)), ("build", build), ("piece", str(number))}
        case Shelve(piece=piece):
            found = {("piece", str(piece)), ("lot", str(number)), ("build", _build_of(piece, entries))}
        case Done(piece=piece) | Trim(piece=piece) | Assign(piece=piece) | ScrapPiece(piece=piece):
            found = {("piece", str(piece)), ("build", _build_of(piece, entries))}
    return frozenset(thing for thing in found if thing[1])


def _build_of(number: int, entries: Sequence[Entry]) -> str:
    """Build that a lot was bought for, or that a piece was cut for; empty where it is none."""
    entry = entries[number - 1] if 1 <= number <= len(entries) else None
    if isinstance(entry, Shelve):
        return _build_of(entry.piece, entries)
    return entry.build if isinstance(entry, Receive | Cut) else ""


def entry_name(entry: Entry) -> str:  # noqa: PLR0912  # One branch for each kind of entry.
    """An entry in a few words, for a message that speaks of it."""
    match entry:
        case Receive():
            return "onto the shelf"
        case Recount(lot=lot):
            return f"stock-taking of lot {lot}"
        case Reserve(lot=lot):
            return f"lot {lot} reserved"
        case Release(lot=lot):
            return f"lot {lot} released"
        case Cut(label=label):
            return f"{label} cut"
        case Done(piece=piece, stage=stage):
            return f"piece {piece} {stage}"
        case Timed(operation=operation):
            return f"time for {operation}"
        case Checked(run=run):
            return f"run {run} tested by its sheet"
        case Trim(piece=piece):
            return f"piece {piece} trimmed"
        case Assign(piece=piece, label=label):
            return f"piece {piece} taken for {label}"
        case Shelve(piece=piece):
            return f"piece {piece} put on the shelf"
        case ScrapPiece(piece=piece):
            return f"piece {piece} thrown away"
        case ScrapStock(lot=lot):
            return f"some of lot {lot} thrown away"
        case Take(lot=lot, run=run):
            return f"taken from lot {lot} for run {run}"
        case Undo(entry=undone):
            return f"entry {undone} undone"
