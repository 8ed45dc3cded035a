"""What a build is made of and in which order it is made, as sheets of typed cells for files."""

from server.documents.tables import Column, Sheet
from server.domain.sockets import key
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.bench_steps import bench_steps
from server.web.views.export_cells import NUMBER, WHOLE
from server.web.views.export_wires import metered_words, state_words
from server.web.views.pieces import run_title

NO_RUN = "no run"


def parts_sheet(opened: Opened) -> Sheet:
    """Every part with every socket of it, and the run that feeds it or that it feeds, or why there is none.

    Args:
        opened: The build as it stands.
    """
    columns = (
        Column("part"),
        Column("kind"),
        Column("socket"),
        Column("plug"),
        Column("role"),
        Column("run", WHOLE),
        Column("run name"),
        Column("not fed because"),
    )
    plan, catalogue = opened.plan, opened.catalogue
    runs = {
        "inlet": {key(plug.ref): run for run in plan.runs for plug in run.ends},
        "outlet": {key(plug.ref): run for run in plan.runs for plug in run.sources},
    }
    reasons = {(unfed.part, unfed.socket): unfed.reason for unfed in plan.unfed}
    rows = []
    for part in opened.build.parts:
        for socket in part.sockets:
            pinout, where = catalogue.pinouts.get(socket.pinout), (part.id, socket.id)
            role = pinout.role if pinout else "inlet"
            run = runs[role].get(where)
            why = "" if run or role == "outlet" else reasons.get(where, NO_RUN)
            rows.append(
                (
                    part.name,
                    formats.KINDS[part.kind],
                    socket.id,
                    pinout.name if pinout else socket.pinout,
                    role,
                    run.number if run else None,
                    run_title(run) if run else "",
                    why,
                )
            )
    return Sheet("Parts", columns, tuple(rows))


def order_sheet(opened: Opened) -> Sheet:
    """The steps of every run in the order in which they are done, as its card has them.

    A run that cannot be built yet has none.

    Args:
        opened: The build as it stands.
    """
    columns = (
        Column("run", WHOLE),
        Column("run name"),
        Column("step", WHOLE),
        Column("what to do"),
        Column("settings"),
        Column("length, mm", NUMBER),
        Column("wires", WHOLE),
        Column("route"),
        Column("supply"),
    )
    rows = tuple(
        (
            run.number,
            run_title(run),
            number,
            step.words,
            "; ".join(step.settings),
            run.length_mm,
            len(run.wires),
            state_words(run),
            metered_words(opened),
        )
        for run in opened.plan.runs
        for number, step in enumerate(bench_steps(run, opened), start=1)
    )
    return Sheet("Order of work", columns, rows)
