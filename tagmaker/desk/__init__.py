"""What the commands run."""
