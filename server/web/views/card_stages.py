"""The stages of a wire that a paper card has a box to tick for, in the order in which they are done."""

from dataclasses import dataclass

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import RunPlan
from server.domain.reference import BUNDLED_USES
from server.web.views.bench_words import source_end
from server.web.views.chain_steps import pressed_plugs


@dataclass(frozen=True, slots=True)
class Stage:
    """One column to tick."""

    letter: str
    """Heads the column."""
    told: str
    """What is done when it is ticked, in a word or two."""


def stages_of(run: RunPlan, catalogue: Catalogue) -> tuple[Stage, ...]:
    """The columns to tick of one run, after its method, plugs and finish.

    Args:
        run: The planned run.
        catalogue: Reference data with housings and families.
    """
    if not run.wires:
        return ()
    end = source_end(run).removesuffix(" end")
    alone = run.use not in BUNDLED_USES or len(run.wires) == 1
    sleeve = (Stage("S", "sleeved"),) if run.sleeve_pieces and alone else ()
    part = Stage("P", "part end")
    source = Stage("E" if end == "supply" else "H", f"{end} end")
    fitted = Stage("F", "fitted")
    if run.method == "rework":
        first = (
            Stage("J", "soldered on") if any(joint.kind == "solder_on" for joint in run.joints) else Stage("C", "cut")
        )
        return (first, *sleeve, part, fitted)
    cut = Stage("C", "cut")
    if pressed_plugs(run, catalogue):
        return (cut, source, *sleeve, Stage("P", "pressed on"), fitted)
    return (cut, part, *sleeve, source, fitted)
