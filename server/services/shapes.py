"""What a person can do with a route of legs and bends: try it, save it, keep its path under a name."""

from collections.abc import Sequence

from server.domain import edits
from server.domain.edits import RouteEntry
from server.domain.model.route import RouteShape, RouteStep
from server.domain.plan.drafts import RouteDraft, draft_route
from server.services.opened import Opened
from server.services.records import BuildRecords
from server.store.database import writing
from server.store.own_shapes import keep_shape, remove_shape


class PathRecords(BuildRecords):
    """Routes by legs and bends, and the builder's own paths, over one database."""

    def set_path(self, build_id: str, base: int, run_id: str, entry: RouteEntry) -> Opened:
        """Take one run's legs and bends, or the length in their place, with reach and tails of its plugs.

        Raises:
            NotFoundError: the build has no such run.
        """
        return self.save(build_id, base, lambda b, _: edits.set_routes(b, {run_id: entry}))

    def try_path(
        self, opened: Opened, run_id: str, steps: Sequence[RouteStep], reach: RouteEntry | None = None
    ) -> RouteDraft:
        """What a run would be along other legs and bends; nothing is saved.

        Args:
            opened: The build as it stands.
            run_id: A run of the build.
            steps: Legs, bends and twists; a bend of radius 0 gets the smallest that will do.
            reach: Gives reach and tails of the plugs where they are other than saved.
        """
        build = opened.build if reach is None else edits.set_routes(opened.build, {run_id: reach})
        return draft_route(build, opened.catalogue, run_id, steps)

    def keep_shape(self, name: str, steps: Sequence[RouteStep]) -> RouteShape:
        """Keep a path under a name.

        Raises:
            InvalidInputError: there is no name or no step, or another own path is called the same.
        """
        with writing(self._engine) as session:
            return keep_shape(session, name, steps, kept_at=self._clock())

    def remove_shape(self, shape_id: str) -> str:
        """Let go of an own path and return its name.

        Raises:
            NotFoundError: the builder keeps no such path.
        """
        with writing(self._engine) as session:
            return remove_shape(session, shape_id)
