"""How alembic runs the steps: on the connection it is given, in that connection's transaction."""

from __future__ import annotations

from alembic import context

from chalkwing.book import tables  # noqa: F401 - its import fills the metadata
from chalkwing.book.accounts import tables as account_tables  # noqa: F401 - and this one the rest of it
from chalkwing.book.columns import Table

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Table.metadata,
    render_as_batch=True,
    compare_type=True,
)
context.run_migrations()
