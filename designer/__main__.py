"""``python -m designer``: the same as the command ``brushbench``."""

import sys

from designer.cli import main

if __name__ == "__main__":
    sys.exit(main())
