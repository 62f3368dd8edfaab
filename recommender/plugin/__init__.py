"""The plug-in door: what contributors implement, and how it is loaded and called."""
