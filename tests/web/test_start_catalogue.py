"""A catalogue file that breaks a rule is named at the start, and nothing is served from it."""

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from server.config import Settings
from server.launch import print_plan, serve


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    """Settings whose catalogue lost a number in the second line of its wires."""
    shutil.copytree(Settings().seed, tmp_path / "seed")
    wires = tmp_path / "seed" / "catalogue" / "wires.csv"
    heading, first, *rest = wires.read_text(encoding="utf-8").splitlines()
    broken = first.replace(",16,", ",sixteen,", 1)
    wires.write_text("\n".join([heading, broken, *rest]) + "\n", encoding="utf-8")
    return replace(Settings(), data=tmp_path / "data", seed=tmp_path / "seed")


def test_a_broken_catalogue_file_stops_the_start(settings: Settings) -> None:
    assert serve(port=0, data=None, open_browser=False, settings=settings) == 2


def test_the_message_names_file_line_and_column(settings: Settings, capsys: pytest.CaptureFixture[str]) -> None:
    serve(port=0, data=None, open_browser=False, settings=settings)
    assert "wires.csv, line 2, column awg" in capsys.readouterr().err


def test_a_plan_from_a_broken_catalogue_is_refused_too(settings: Settings) -> None:
    example = sorted(settings.examples_folder.glob("*.json"))[0]
    assert print_plan(str(example), settings) == 2
