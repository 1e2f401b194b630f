"""The honest verdict: electrodes compared at one voltage or current density, with what could overturn it."""
