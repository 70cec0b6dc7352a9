"""How do I teach a class?"""
