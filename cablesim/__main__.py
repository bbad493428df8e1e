"""Run the command line as ``python -m cablesim``."""

from cablesim.cli.app import main

if __name__ == "__main__":
    main()
