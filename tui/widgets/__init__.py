"""The parts of the desk."""
