"""Teach me."""
