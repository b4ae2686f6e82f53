"""`python -m fab` is `panejig`."""

from fab.cli.main import script

if __name__ == "__main__":
    script()
