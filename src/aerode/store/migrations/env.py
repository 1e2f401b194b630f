"""How Alembic is run here: on the one open connection that `aerode.store.upgrading` hands in."""

from __future__ import annotations

from typing import Any

from alembic import context

from aerode.store.layout import metadata

connection: Any = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=metadata,
    transactional_ddl=False,  # the caller's transaction holds the whole upgrade
)
context.run_migrations()
