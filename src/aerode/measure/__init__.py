"""From records to answers: meters, curves, comparisons, mixes, and the figures that show them."""
