"""python -m waterbudget."""

from waterbudget.cli.main import main

main(prog_name="waterbudget")
