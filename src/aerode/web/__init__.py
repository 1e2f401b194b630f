"""The pages and the JSON interface: one program, one guard."""
