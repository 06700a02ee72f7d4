"""Use cases, one function each; the only place where clock, seed, paths and storage meet."""
