"""From where to where a wire goes, as one word that changes when its ends do."""

from server.domain.model.plan import PlannedWire, Plug, RunPlan, WireEnd


def wiring_of(run: RunPlan, wire: PlannedWire) -> str:
    """The plug and cavity of every end and tap of a wire, from its source on: ``supply:M1:13>p1:main:24``.

    Args:
        run: The run that it belongs to.
        wire: The wire.
    """
    start = _at(run.ends if wire.source_at_end else run.sources, wire.source)
    return ">".join((start, *(_at(run.ends, end) for end in (*wire.taps, wire.target))))


def _at(plugs: tuple[Plug, ...], end: WireEnd) -> str:
    plug = plugs[end.plug]
    return f"{plug.ref.part}:{plug.ref.socket}:{end.cavity}"
