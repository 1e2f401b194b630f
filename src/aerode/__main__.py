"""`python -m aerode` is `aerode`."""

from __future__ import annotations

from aerode.cli import main

if __name__ == "__main__":
    main()
