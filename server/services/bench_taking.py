"""Counted things of a run, contacts, housings, caps and combs: what it still takes, and from which lots."""

from collections.abc import Mapping

from server.domain.model.bench import Bench, Material, Take
from server.domain.model.plan import RunPlan
from server.domain.plan.lists import counted_by
from server.services.opened import Opened


def missing_parts(run: RunPlan, bench: Bench, opened: Opened) -> Mapping[Material, int]:
    """What a run still takes at this moment.

    Args:
        run: The planned run.
        bench: Stock and pieces at this moment.
        opened: The build.
    """
    build = opened.build_id
    return missing_of(run, {(of, m): n for (owner, of, m), n in bench.takes.items() if owner == build}, opened)


def missing_of(run: RunPlan, takes: Mapping[tuple[int, Material], int], opened: Opened) -> Mapping[Material, int]:
    """What a run takes beyond what was taken for it.

    Args:
        run: The planned run.
        takes: What was taken, by run number and material.
        opened: The build.
    """
    wanted = opened.lasting(
        f"counted {run.id}", lambda: {Material(*item): n for item, n in counted_by(run, opened.catalogue).items()}
    )
    return {m: n - takes.get((run.number, m), 0) for m, n in wanted.items() if n > takes.get((run.number, m), 0)}


def takes_of(missing: Mapping[Material, int], run: RunPlan, bench: Bench, build_id: str) -> list[Take]:
    """Entries that take what is missing, as far as it is on the shelf: from lots kept for the build first.

    Args:
        missing: What the run still takes.
        run: The planned run.
        bench: Stock and pieces at this moment.
        build_id: The build.
    """
    entries: list[Take] = []
    for material, number in missing.items():
        wanted = number
        lots = [lot for lot in bench.lots.values() if lot.material == material]
        for lot in sorted(lots, key=lambda lot: build_id not in lot.reserved):
            taken = min(wanted, lot.free_for(build_id))
            if taken:
                entries.append(Take(lot.id, build_id, run.number, taken))
                wanted -= taken
    return entries
