"""`python -m tests.fuzz --count N --seed S`: breaks what the commands read, and reports."""

import sys

from tests.fuzz.mutate import main

sys.exit(main())
