"""``python -m toolpaths`` is ``holewright``."""

from toolpaths.cli import main

if __name__ == "__main__":
    main()
