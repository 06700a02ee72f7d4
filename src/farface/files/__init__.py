"""Read and write files in open formats."""
