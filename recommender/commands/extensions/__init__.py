"""Commands about plug-ins, and the process that they are tried in."""
