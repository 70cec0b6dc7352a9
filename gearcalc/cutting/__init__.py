"""How do I catch the thread, feed, and prove the cut?"""
