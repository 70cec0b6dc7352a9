"""How do the lessons reach them?"""
