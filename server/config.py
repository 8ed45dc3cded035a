"""Settings of the planner, as one frozen object."""

from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

from platformdirs import user_data_path

ROOT = Path(__file__).resolve().parents[1]
"""The checkout, where templates, static files and catalogue lie beside the package."""
DEFAULT_PORT = 8765


def default_data() -> Path:
    """Folder of the person's own data, where the operating system wants it."""
    return user_data_path("loomwright", appauthor=False)


@dataclass(frozen=True, slots=True)
class Settings:
    """Where the planner listens and where its files lie."""

    host: str = "127.0.0.1"
    """Where this computer reaches the planner; without ``phones`` it is not reachable from elsewhere."""
    port: int = DEFAULT_PORT
    data: Path = field(default_factory=default_data)
    """Folder of the database; made when it is missing."""
    address: str = ""
    """Where other devices reach the planner, such as ``http://192.168.1.20:8765``; empty for this computer alone."""
    phones: bool = False
    """Whether other devices in the workshop's network may reach the planner, each once it is paired."""
    open_browser: bool = True
    seed: Path = ROOT / "seed_data"
    templates: Path = ROOT / "templates"
    static: Path = ROOT / "static"

    @property
    def host_names(self) -> tuple[str, ...]:
        """Names under which the planner answers beside those of this computer."""
        known = urlsplit(self.address).hostname if self.phones else None
        return (self.host, known) if known else (self.host,)

    @property
    def catalogue_folder(self) -> Path:
        """Folder of the catalogue's CSV files."""
        return self.seed / "catalogue"

    @property
    def examples_folder(self) -> Path:
        """Folder of the example builds."""
        return self.seed / "examples"

    @property
    def database(self) -> Path:
        """The database file."""
        return self.data / "loomwright.sqlite3"
