"""Settings of labels as JSON text; whatever is no such text, or not any more, counts as nothing."""

from pydantic import TypeAdapter, ValidationError

from server.domain.labels import LabelSettings

_SETTINGS = TypeAdapter(LabelSettings)
_RUNS = TypeAdapter(tuple[str, ...])


def write_settings(settings: LabelSettings) -> str:
    """Settings as JSON text."""
    return _SETTINGS.dump_json(settings).decode()


def read_settings(text: str) -> LabelSettings | None:
    """Settings from their JSON text; ``None`` when the text holds none."""
    try:
        return _SETTINGS.validate_json(text)
    except ValidationError:
        return None


def write_runs(runs: tuple[str, ...]) -> str:
    """Ids of runs as JSON text."""
    return _RUNS.dump_json(runs).decode()


def read_runs(text: str) -> tuple[str, ...]:
    """Ids of runs from their JSON text; none when the text holds none."""
    try:
        return _RUNS.validate_json(text)
    except ValidationError:
        return ()
