"""Pictures and pages."""
