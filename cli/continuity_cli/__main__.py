"""`python -m continuity_cli` is `continuity`."""

import sys

from continuity_cli.main import run

sys.exit(run())
