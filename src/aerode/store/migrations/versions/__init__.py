"""One file per step; a step once released is never changed."""
