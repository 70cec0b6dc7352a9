"""In what order?"""
