"""The pages: the bench in a browser on the person's own machine."""
