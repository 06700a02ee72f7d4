"""The permanent record of a bench."""
