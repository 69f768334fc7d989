"""Starts the app, nothing else."""

from advisor.pages.shell import run

run()
