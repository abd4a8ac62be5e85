"""Run as `python -m tagmaker`."""

from tagmaker.cli import main

main()
