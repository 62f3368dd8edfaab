"""The engine behind the interface: questions put to a process of its own, or to threads of this one.

The interface holds an `Engine` (`client.py`): `ProcessEngine` or `InProcessEngine`. Both carry the same messages.
"""
