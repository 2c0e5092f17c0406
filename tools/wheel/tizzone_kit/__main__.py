"""`python -m tizzone_kit <command>`: the same as `tizzone <command>`."""

import sys

from tizzone_kit import main

if __name__ == "__main__":
    sys.exit(main())
