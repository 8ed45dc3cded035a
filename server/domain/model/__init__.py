"""The shared words: catalogue, build and plan as frozen values, without calculations."""
