"""Why do these gears cut that lead?"""
