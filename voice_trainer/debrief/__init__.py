"""What the student is told after a session: a function of its journal."""
