"""The starter files as they are without options: a layout in mm, measurements in inches."""

from beltplan.layoutfile.starter import starter_of

STARTER, MEASUREMENT_STARTER = starter_of(False), starter_of(True)
