"""The starter files: a layout in mm, measurements in inches."""

from beltplan.layoutfile.starter import starter_of

STARTER, MEASUREMENT_STARTER = starter_of(False), starter_of(True, "in")
