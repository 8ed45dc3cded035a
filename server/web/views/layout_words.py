"""What a page of a layout says after a form was accepted."""

from collections.abc import Mapping

from server.web.views import formats

ARRIVALS = ("saved", "same", "noted", "settled", "cleared", "counted", "kept", "dropped")
"""Numbers that the address may carry after the way back from an accepted form."""


def arrival_words(counts: Mapping[str, int]) -> str:
    """What a form came to, from the numbers in the address; empty on any other way to the page."""
    said = []
    if "saved" in counts:
        said.append(f"Saved as version {counts['saved']}.")
    if "same" in counts:
        said.append(f"Nothing changed: still version {counts['same']}.")
    if "counted" in counts:
        said.append(f"{_readings(counts['counted'])} of this very supply {_verb(counts['counted'])} counted.")
    if counts.get("kept"):
        said.append(f"{_readings(counts['kept'])} of the file left out: those cavities were measured here.")
    if "dropped" in counts:
        said.append(f"{_readings(counts['dropped'])} of the file dropped.")
    if "cleared" in counts:
        said.append(f"Readings of {_cavities(counts['cleared'])} cleared.")
    if "noted" in counts and (counts["noted"] or not said):
        noted = counts["noted"]
        said.append(f"Readings of {_cavities(noted)} written down." if noted else "No reading changed.")
    if counts.get("settled"):
        said.append(f"{_cavities(counts['settled']).capitalize()} settled as recorded.")
    return " ".join(said)


def _cavities(count: int) -> str:
    return formats.count(count, "cavity", "cavities")


def _readings(count: int) -> str:
    return formats.count(count, "reading")


def _verb(count: int) -> str:
    return "is" if count == 1 else "are"
