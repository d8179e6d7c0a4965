"""The reference implementation of the day loop, with the arrays of NumPy: slower, and written to be read.

The compiled loop must give what this gives; whoever changes the physics changes it here too, and says so once in each place.
"""
