"""Exposure estimates, cautions, and the gate from draft to cleared."""
