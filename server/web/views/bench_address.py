"""Where the bench screen is."""

from urllib.parse import quote


def bench_href(build_id: str, run_id: str = "") -> str:
    """The address of a build's bench screen, below the planner's own.

    Args:
        build_id: The build.
        run_id: The run that it opens at; empty for all of them.
    """
    run = f"?run={quote(run_id, safe='')}" if run_id else ""
    return f"/bench/{quote(build_id, safe='')}{run}"
