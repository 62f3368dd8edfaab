"""Processes that call plug-ins from outside: bounds, marks that outlive them, and commands run in a child."""
