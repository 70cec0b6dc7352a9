"""Which gears?"""
