"""The command as it is installed: Ctrl-C is taken care of first, then the rest is loaded."""

from fab.leaving import arm, leave


def script() -> None:
    """Run the command line of this process; does not return."""
    arm()
    try:
        from fab.cli.main import script as run

        run()
    except KeyboardInterrupt:
        leave()
