"""`python -m fab` is `panejig`."""

from fab.start import script

if __name__ == "__main__":
    script()
