"""Plates with a matrix of trial cells."""
