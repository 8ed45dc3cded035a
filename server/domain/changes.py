"""What was cut, held against what the plan wants now: one question, whatever it was that changed in between.

A wire keeps its identity through edits elsewhere, so that a piece is looked up by the wire it was cut for and by what
it is made of. Pieces of sleeve and of heat-shrink that one run takes in one colour are as good as each other; they are
matched by length alone.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from server.domain.model.bench import Material, Piece
from server.domain.model.plan import ChangeState, WireChange

Key = tuple[str, int, Material]
"""What makes pieces interchangeable: the wire (empty for sleeve and heat-shrink), the run, and the material."""


@dataclass(frozen=True, slots=True)
class Needed:
    """One wire, or one piece of sleeve or heat-shrink, as the plan wants it."""

    id: str
    label: str
    run: int
    """Number of the run."""
    material: Material
    name: str
    """The material in words."""
    needed_mm: int
    """Shortest piece that serves: the sum of its terms, rounded up; 0 while unknown. [mm]"""
    cut_mm: int | None
    """Length it would be cut to today; ``None`` while its run is not measured. [mm]"""
    buy_mm: int
    """Length to buy for; 0 while unknown. [mm]"""
    wiring: str = ""
    """From where to where it goes; empty for what is not wired."""


def compare(
    needed: Sequence[Needed],
    pieces: Sequence[Piece],
    names: Mapping[Material, str],
    step_mm: float,
    unmeasured: Collection[int] = (),
) -> tuple[WireChange, ...]:
    """What became of everything that the plan wants, and of everything that was cut.

    Where several pieces could serve, one that was cut exactly so counts first, then the longest; where none serves, the
    longest is the one that is too short.

    Args:
        needed: Everything that the plan wants.
        pieces: Pieces of this build that are neither shelved nor thrown away.
        names: Materials in words, for pieces that nothing wants.
        step_mm: Step that lengths are rounded up to; a piece longer by no more than that is good as it is. [mm]
        unmeasured: Numbers of runs of which nothing is known, so that what they will want cannot be told: what was cut
            for them waits.

    Returns:
        One entry for each thing needed, in the order given, then one for each piece that nothing wants. Every piece is
        in exactly one entry.
    """
    wanted: dict[Key, list[int]] = {}
    for at, entry in enumerate(needed):
        wanted.setdefault(_key(entry.id, entry.run, entry.material), []).append(at)
    there: dict[Key, list[Piece]] = {}
    for piece in pieces:
        there.setdefault(_key(piece.wire, piece.run, piece.material), []).append(piece)
    matched: dict[int, Piece] = {}
    for key, places in wanted.items():
        matched |= _matched({at: needed[at] for at in places}, there.get(key, []))
    kept = {piece.id for piece in matched.values()}
    return (
        *(_change(entry, matched.get(at), step_mm) for at, entry in enumerate(needed)),
        *(_left(piece, names, waits=piece.run in unmeasured) for piece in pieces if piece.id not in kept),
    )


def _key(wire: str, run: int, material: Material) -> Key:
    # A wire's identity names its run already.
    return (wire, 0, material) if material.kind == "wire" else ("", run, material)


def _matched(needed: Mapping[int, Needed], pieces: Sequence[Piece]) -> dict[int, Piece]:
    """Pieces for things that are alike but for their length, by the things' places in the list.

    Taking exact pieces first costs nothing: whatever would have gone there serves where the exact one would have gone.
    """
    open_ = sorted(needed, key=lambda at: (-_length(needed[at]), at))
    spare = sorted(pieces, key=lambda piece: (-piece.length_mm, piece.id))
    found: dict[int, Piece] = {}
    for fits in (_exact, _serves, _any):
        for at in open_:
            piece = next((p for p in spare if fits(p, needed[at])), None) if at not in found else None
            if piece is not None:
                found[at] = piece
                spare.remove(piece)
    return found


def _length(entry: Needed) -> int:
    return entry.buy_mm if entry.cut_mm is None else entry.cut_mm


def _exact(piece: Piece, entry: Needed) -> bool:
    return piece.length_mm == entry.cut_mm


def _serves(piece: Piece, entry: Needed) -> bool:
    return piece.length_mm >= entry.needed_mm


def _any(_piece: Piece, _entry: Needed) -> bool:
    return True


def _change(entry: Needed, piece: Piece | None, step_mm: float) -> WireChange:
    """What became of one thing needed."""
    if piece is None:
        return WireChange("new", entry.id, entry.label, entry.run, entry.name, 0, 0, _length(entry), 0)
    state, off_mm = _state(entry, piece.length_mm, step_mm)
    wanted_mm = _length(entry)
    return WireChange(
        state,
        entry.id,
        entry.label,
        entry.run,
        entry.name,
        piece.id,
        piece.length_mm,
        wanted_mm,
        off_mm,
        rewired=_rewired(entry, piece),
    )


def _rewired(entry: Needed, piece: Piece) -> bool:
    """Whether a piece is fitted where the plan no longer has it."""
    return "fitted" in piece.stages and "" not in (piece.wiring, entry.wiring) and piece.wiring != entry.wiring


def _state(entry: Needed, length_mm: int, step_mm: float) -> tuple[ChangeState, int]:
    """What a piece is to the thing it was cut for, and how far its length is off. [mm]"""
    if entry.cut_mm is None:
        return "waits", 0
    if length_mm == entry.cut_mm:
        return "unchanged", 0
    if length_mm < entry.needed_mm:
        return "too_short", entry.needed_mm - length_mm
    if length_mm > entry.cut_mm + step_mm:
        return "trim", length_mm - entry.cut_mm
    return "good", 0


def _left(piece: Piece, names: Mapping[Material, str], *, waits: bool) -> WireChange:
    """A piece that nothing wants any more, or not yet again."""
    name = names.get(piece.material) or f"{piece.material.item} {piece.material.colour}".strip()
    state: ChangeState = "waits" if waits else "not_needed"
    return WireChange(state, piece.wire, piece.label, piece.run, name, piece.id, piece.length_mm, 0, 0)
