"""The bench file."""
