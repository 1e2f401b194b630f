"""Figure records and answers → SVG and HTML. No arithmetic here beyond placing and rounding."""
