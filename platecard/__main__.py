"""The entry: answers ``--version`` before anything is imported, then hands over to the commands."""

import sys


def main() -> int:
    """Run the command line; returns the exit code (0 no errors, 1 errors, 2 usage)."""
    if sys.argv[1:] == ["--version"]:
        from platecard import __version__

        print(f"platecard {__version__}")
        return 0
    from platecard.cli import run, terminal

    return terminal.guarded(run, sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
