"""Statistics on arrays: uncertainty, fits, posteriors, comparisons and plans. No room here knows what was measured."""
