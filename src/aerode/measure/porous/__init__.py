"""The porous cathode for people: from a recipe to the model, what a change would do, and what a run tells."""
