"""The quality gate: style, types, import rules and promises of the repository, so that pytest is the only command."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "server", "templates", "static", "tests", "seed_data"}


def run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", *words], cwd=ROOT, capture_output=True, text=True, check=False)


def tracked() -> list[str]:
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    if listed.returncode:
        pytest.skip("no git checkout: the files that belong to the repository are not known")
    return [name for name in listed.stdout.splitlines() if (ROOT / name).is_file()]


def test_ruff_finds_nothing():
    result = run("ruff", "check", "--no-cache", "server", "tests")
    assert result.returncode == 0, result.stdout + result.stderr


def test_ruff_would_format_nothing():
    result = run("ruff", "format", "--no-cache", "--check", "server", "tests")
    assert result.returncode == 0, result.stdout + result.stderr


def test_mypy_strict_finds_nothing_in_the_server():
    result = run("mypy", "--strict", "server")
    assert result.returncode == 0, result.stdout + result.stderr


def test_rooms_import_downwards_only():
    program = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    result = subprocess.run(
        [sys.executable, "-c", program, "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert result.returncode == 0, result.stdout + result.stderr


def test_every_room_stands_in_the_import_contract():
    rooms = {
        path.stem for path in (ROOT / "server").iterdir() if path.suffix == ".py" or (path / "__init__.py").exists()
    }
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text())
    layers = settings["tool"]["importlinter"]["contracts"][0]["layers"]
    named = {module.strip().removeprefix("server.") for layer in layers for module in layer.split("|")}
    assert rooms - {"__init__"} == named


def test_the_top_level_holds_nothing_else():
    first = {name.split("/")[0] for name in tracked()}
    assert {name for name in first if not name.startswith(".")} <= TOP_LEVEL


def test_the_readme_states_exactly_the_two_set_up_commands():
    text = (ROOT / "README.md").read_text()
    commands = [line for line in text.splitlines() if line.startswith("python3 -m venv")]
    assert len(commands) == 2
    assert "-m server" in commands[0]
    assert commands[1].endswith("pytest")


def test_ci_runs_exactly_the_readmes_test_command():
    readme = (ROOT / "README.md").read_text()
    command = next(line for line in readme.splitlines() if line.startswith("python3 -m venv") and "pytest" in line)
    assert f'test_command="{command}"' in (ROOT / ".ci" / "run").read_text().splitlines()


def test_no_machine_paths_and_no_registry_addresses():
    pattern = re.compile(r"/(home|Users|work|root)/\w|pythonhosted|registry\.npmjs|https?://pypi")
    found = []
    for name in tracked():
        path = ROOT / name
        if path == Path(__file__) or path.suffix in {".png", ".ico"} or "vendor" in path.parts:
            continue
        found += [f"{name}: {line.strip()}" for line in path.read_text().splitlines() if pattern.search(line)]
    assert found == []


def test_every_panel_has_its_template_its_route_and_its_view():
    panels = {path.stem for path in (ROOT / "templates" / "panels").glob("*.html")}
    assert panels
    for panel in panels:
        text = (ROOT / "templates" / "panels" / f"{panel}.html").read_text()
        first = text.splitlines()[0]
        view = re.search(r"\{#.*?(\w+)\b", first)
        assert view, f"{panel}: the first line names no view class"
