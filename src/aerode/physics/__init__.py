"""Pure formulas of the bench in SI: electrolytes, oxygen, films, air, heat, electrodes and cells."""
