"""``python -m app`` is ``tain``."""

import sys

from app.command_line import main

sys.exit(main())
