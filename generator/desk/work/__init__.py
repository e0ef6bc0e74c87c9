"""What the desk does with a class: all of it calls the functions that commands call.

It runs in a process of its own. What is asked for and what comes out are plain JSON.
"""
