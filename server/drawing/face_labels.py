"""What stands beside the cavities of a face: nets and functions, level or turned where the pitch is too narrow."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.domain.model.plan import PlannedWire, Plug
from server.domain.plan.names import beyond_net
from server.drawing import svg
from server.drawing.plugs import Cell

PITCH = 44.0
"""One pitch of the housing on the drawing. [px]"""
LINE = 13.0


@dataclass(frozen=True, slots=True)
class Label:
    """What stands beside one cavity: one entry per wire, as net and (muted) what else there is to say."""

    cell: Cell
    lines: tuple[tuple[str, str], ...]
    cls: str
    size: float
    """Size of the words. [px]"""

    def across(self) -> float:
        """Greatest width with the second words below the first. [px]"""
        return max(svg.width(word, self.size) for entry in self.lines for word in entry)

    def along(self) -> float:
        """Greatest width with the second words behind the first. [px]"""
        return max(svg.width(f"{first} {second}".strip(), self.size) for first, second in self.lines)

    def depth(self) -> int:
        """Lines of text with the second words below the first."""
        return sum(2 if second else 1 for _, second in self.lines)


def labels_of(
    shown: tuple[Cell, ...],
    plug: Plug,
    wires: dict[str, tuple[PlannedWire, ...]],
    joined_on: dict[str, tuple[str, ...]],
    size: float,
) -> tuple[list[Label], list[Label]]:
    """Labels above and below the face; the inner row of three shares the side of the outer row that is not full."""
    rows = max(cell.row for cell in shown) + 1
    signal_row = next((cell.row for cell in shown if cell.signal), None)
    above: list[Label] = []
    below: list[Label] = []
    for cell in shown:
        label = _label(cell, plug, wires.get(cell.name, ()), joined_on.get(cell.name, ()), size)
        if label is None:
            continue
        upper = (
            cell.row == 0 and rows > 1 if signal_row is None else (cell.row < 1 if signal_row == 2 else cell.row < 2)
        )
        (above if upper else below).append(label)
    return above, below


def _label(
    cell: Cell, plug: Plug, wires: tuple[PlannedWire, ...], joined_on: tuple[str, ...], size: float
) -> Label | None:
    function = plug.functions.get(cell.name, "")
    net = plug.nets.get(cell.name, "")
    if len(wires) > 1:
        return Label(cell, tuple((f"{w.label} {w.net}", "") for w in wires), "ink", size)
    if wires:
        shown = wires[0].net
        more = [beyond_net(shown, function), *(f"+{label}" for label in joined_on)]
        return Label(cell, ((shown, " ".join(filter(None, more))),), "ink", size)
    if net:
        return Label(cell, ((net, beyond_net(net, function)),), "muted", size)
    return None


def upright(labels: Sequence[Label], rows: int) -> bool:
    """True when the names of a side must be turned to fit the pitch."""
    return bool(labels) and (rows > 2 or max(label.across() for label in labels) > PITCH - 0.5)


def room_of(labels: Sequence[Label], turned: bool) -> float:
    """Height that the labels of one side take. [px]"""
    if not labels:
        return 10.0
    return 22.0 + (max(x.along() for x in labels) if turned else max(x.depth() for x in labels) * LINE)


def label_words(label: Label, x: float, y: float, side: int, *, turned: bool) -> str:
    """The words of one label at the end of its leader line; ``side`` is -1 above the face and 1 below."""
    attributes = svg.attributes(data_label=label.cell.name)
    parts = []
    if turned:
        first = x + 4 - (len(label.lines) - 1) * 6
        for i, (net, more) in enumerate(label.lines):
            at = first + i * 12
            turn = f"rotate(-90 {svg.num(at)} {svg.num(y)})"
            tail = f' <tspan class="muted">{svg.esc(more)}</tspan>' if more else ""
            place = svg.attributes(
                x=at, y=y, cls=label.cls, font_size=_own(label.size), text_anchor=None if side < 0 else "end",
                transform=turn,
            )  # fmt: skip
            parts.append(f"<text{place}>{svg.esc(net)}{tail}</text>")
    else:
        words = [(w, cls) for net, more in label.lines for w, cls in ((net, label.cls), (more, "muted")) if w]
        base = y - (len(words) - 1) * LINE if side < 0 else y + label.size - 2
        for i, (word, cls) in enumerate(words):
            parts.append(svg.text(x, base + i * LINE, word, cls, size=label.size, anchor="middle"))
    return f"<g{attributes}>{''.join(parts)}</g>"


def _own(size: float) -> float | None:
    """A size as an attribute; the drawing's own size needs none."""
    return None if size == svg.TEXT else size
