"""`python -m airwarrant`, the same as the command."""

from airwarrant.cli.start import main

main()
