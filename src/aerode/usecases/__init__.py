"""One file for each thing a person does: load, call, save, hand back a record."""
