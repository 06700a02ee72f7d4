"""Fit the unknowns to outcomes and footage, and choose what to try next."""
