"""The ways from the initial fix onto the final course, one module each."""
