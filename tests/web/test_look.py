"""The look: every pair of colours readable in light and dark, every template naming its view, no sums in templates."""

import re
from itertools import product
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TOKENS = (ROOT / "static" / "css" / "tokens.css").read_text()
LIGHT, DARK = TOKENS.split("@media (prefers-color-scheme: dark)")
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
WORDS = ("ink", "muted", "accent", "stop", "warn", "done")
GROUNDS = ("sheet", "paper", "wash")


def colours(part: str) -> dict[str, str]:
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6})", part))


def luminance(colour: str) -> float:
    """Relative luminance after WCAG 2.2."""
    channels = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_black_on_white_has_the_published_contrast_of_21() -> None:
    # Published: WCAG 2.2, definition of contrast ratio.
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize(("word", "ground"), list(product(WORDS, GROUNDS)))
def test_words_stand_out_from_every_ground(theme: str, word: str, ground: str) -> None:
    # Published: WCAG 2.2, success criterion 1.4.3, 4.5 to 1 for text.
    held = colours(theme)
    assert contrast(held[word], held[ground]) >= 4.5


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_words_on_the_main_button_stand_out(theme: str) -> None:
    held = colours(theme)
    assert contrast(held["on-accent"], held["accent"]) >= 4.5


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("ground", GROUNDS)
def test_the_line_of_a_field_can_be_seen(theme: str, ground: str) -> None:
    # Published: WCAG 2.2, success criterion 1.4.11, 3 to 1 for the edges of controls.
    held = colours(theme)
    assert contrast(held["rule"], held[ground]) >= 3.0


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.name)
def test_the_first_line_of_a_template_names_its_view(template: Path) -> None:
    assert re.match(r"\{# .*\b[A-Z][A-Za-z]+", template.read_text().splitlines()[0])


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.name)
def test_a_template_chooses_and_repeats_but_never_computes(template: Path) -> None:
    filters = set(re.findall(r"\|\s*(\w+)", " ".join(re.findall(r"\{[{%].*?[%}]\}", template.read_text()))))
    sums = re.findall(r"\{[{%][^{}]*[\w)\]]\s[-+*/]\s[\w(][^{}]*[%}]\}", template.read_text())
    assert (filters - {"safe"}, sums) == (set(), [])


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.name)
def test_only_drawings_go_unescaped(template: Path) -> None:
    unescaped = re.findall(r"\{\{\s*([\w.]+)\s*\|\s*safe", template.read_text())
    assert all(name.endswith((".svg", ".sheet", ".ribbon")) for name in unescaped)


@pytest.mark.parametrize("name", ["base", "layout", "panels"])
def test_colours_are_named_once_in_the_tokens(name: str) -> None:
    text = re.sub(r"/\*.*?\*/", "", (ROOT / "static" / "css" / f"{name}.css").read_text())
    assert not re.findall(r":[^;{]*#[0-9a-fA-F]{3,8}\b", text)
