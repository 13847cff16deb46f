"""`python -m beltplan`."""

import sys

from beltplan.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
