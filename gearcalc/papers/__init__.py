"""On paper."""
