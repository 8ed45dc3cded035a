"""One module per panel, plus the JSON interface."""
