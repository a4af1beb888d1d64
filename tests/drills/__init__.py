"""Promises and their drills: ``python -m tests.drills`` tries each and prints what came of it.

A drill is told apart from a test by what it does to the whole studio: it kills its
server, crowds it, restores it elsewhere. Each can fail: ``--broken`` breaks the guard
it watches, inside the drill and nowhere else, and says whether the drill noticed.
"""
