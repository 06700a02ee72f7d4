"""What to mix, fill, cut and set before a run, and what a run uses up."""
