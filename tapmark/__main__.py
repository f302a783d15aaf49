"""`python -m tapmark` is the same as `tapmark`."""

import sys

from tapmark.cli import main

sys.exit(main())
