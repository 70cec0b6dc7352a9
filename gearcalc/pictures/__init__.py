"""Looks: gear outlines, pictures of trains, and the picture that a notebook shows."""
