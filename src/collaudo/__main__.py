"""``python -m collaudo``."""

import sys

from collaudo.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
