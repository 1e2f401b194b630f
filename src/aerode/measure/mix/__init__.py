"""From wet portions to a dry electrode, and back to the dose sheet."""
