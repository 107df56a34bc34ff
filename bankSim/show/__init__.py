"""What people see: the story as text, the figures, the result files."""
