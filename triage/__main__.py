"""`python -m triage` is the command `triage`."""

from __future__ import annotations

import sys

from triage.cli import main

if __name__ == "__main__":
    sys.exit(main())
