"""An invented studio to look around in: its pieces, its people, and eight weeks of their practice.

``people`` and ``pieces`` say who is there and what they play, ``playing`` how a loop
goes for one of them, ``weeks`` lives through the days by the same transactions as
every studio, and ``loading`` puts it all into an empty database.
"""
