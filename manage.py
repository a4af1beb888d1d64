#!/usr/bin/env python3
"""Fourbar's commands. With nothing but Python, this sets up all that is needed first."""

import os
import sys

from studio import bootstrap


def main():
    bootstrap.ensure(sys.argv[1:])
    bootstrap.hand_over()
    if sys.argv[1:2] == ["demo"]:
        bootstrap.keep_demo_apart(os.environ)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
