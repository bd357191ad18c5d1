"""`python -m bayloft`."""

from bayloft.cli import main

main(prog_name="bayloft")
