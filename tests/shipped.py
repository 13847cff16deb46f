"""The files in layouts/: those that are layouts, and those of measurements, which have no places yet."""

from pathlib import Path

FOLDER = Path(__file__).parents[1] / "layouts"
SHIPPED_MEASUREMENTS = tuple(sorted(FOLDER.glob("*_measured.yaml")))
SHIPPED_LAYOUTS = tuple(path for path in sorted(FOLDER.glob("*.yaml")) if path not in SHIPPED_MEASUREMENTS)
