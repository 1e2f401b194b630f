"""The steps from one table layout of the bench file to the next, run by Alembic."""
