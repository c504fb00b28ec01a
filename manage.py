#!/usr/bin/env python3
"""Django's command line. A Python that is too old gets a sentence, not a syntax error."""

import os
import sys


def main():
    if sys.version_info < (3, 11):  # noqa: UP036 - an older Python reads this file first
        sys.exit("Chord Change needs Python 3.11 or newer; this is Python %d.%d." % sys.version_info[:2])  # noqa: UP031
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "project.settings")
    if sys.argv[1:2] == ["demo"]:
        # Settings are read before a command runs, and the demo's database and sign-in depend on the mode.
        os.environ.setdefault("MODE", "demo")
    try:
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.exit("Django is not installed for this Python. Run the first command of README.md; it makes .venv with it.")
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
