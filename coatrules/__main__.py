import sys

from coatrules.cli import main

sys.exit(main())
