"""The command ``pullcall``."""

from __future__ import annotations

import sys

from pullcall.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
