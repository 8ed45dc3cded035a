"""A plan from the command line with the data folder of an earlier release."""

import json
import sqlite3
from pathlib import Path

import pytest

from server.__main__ import main
from server.config import Settings

# A folder of the release before this one, with a pack and measurements of the builder's own.
FIRST_SCHEMA = Path(__file__).parents[1] / "store" / "schema_1.sql"


def test_the_data_folder_of_the_release_before_plans_from_the_command_line(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    with sqlite3.connect(Settings(data=tmp_path).database) as connection:
        connection.executescript(FIRST_SCHEMA.read_text(encoding="utf-8"))
    connection.close()
    example = Settings().examples_folder / "compact.json"
    assert main(["--data", str(tmp_path), "plan", str(example)]) == 0
    assert json.loads(capfd.readouterr().out)["plan"]["runs"]
