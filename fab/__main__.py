"""`python -m fab` is `panejig`."""

from fab.cli.main import main

if __name__ == "__main__":
    raise SystemExit(main())
