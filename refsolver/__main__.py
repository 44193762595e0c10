"""``python -m refsolver``."""

from refsolver.cli import main

if __name__ == "__main__":
    main()
