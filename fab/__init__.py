"""panejig: one job file to everything a wall of modular light panels needs."""

__version__ = "0.1.0"
