"""Run the command line with ``python -m recommender``."""

import sys

from recommender.cli import main

if __name__ == "__main__":
    sys.exit(main())
