"""The second layout: answers that were computed, in a table of their own.

Written out and not taken from `aerode.store.layout`, so that it stays as it was released.
"""

from __future__ import annotations

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table `result`, and write the number of the layout."""
    sqlite = op.get_bind().dialect.name == "sqlite"
    columns = ("schema", "about", "question", "rests_on", "code", "tables", "at", "doc")
    body = ", ".join(f"{name} TEXT NOT NULL" for name in columns)
    op.execute(
        f"CREATE TABLE result (key TEXT NOT NULL, {body}, "
        "digest TEXT NOT NULL CHECK (length(digest) = 64), "
        f"PRIMARY KEY (key)){' STRICT' if sqlite else ''}"
    )
    op.execute("UPDATE meta SET value = '2' WHERE key = 'layout'")
    if sqlite:
        op.execute("PRAGMA user_version=2")


def downgrade() -> None:
    """Refuse: a bench is never taken back to an older layout, its backup is opened instead."""
    raise RuntimeError("a bench is not taken back to an older layout; open the backup")
