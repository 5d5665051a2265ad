"""What stays on the screen, one file for each concern. A concern is given what it needs and reaches for nothing else."""
