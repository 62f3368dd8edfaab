"""Our own themes: text at least 7 to 1 on its ground, in the dark and in the light."""

from __future__ import annotations

from textual.theme import Theme

DARK = Theme(
    name="bevelwright-dark",
    primary="#8fc7ff",
    secondary="#c8d3e0",
    accent="#ffd479",
    foreground="#f2f2f2",
    background="#101418",
    surface="#161b21",
    panel="#20272f",
    warning="#ffb86b",
    error="#ff9d94",
    success="#8fe0a0",
    dark=True,
    variables={"text-muted": "#b4bec8", "footer-key-foreground": "#ffd479"},
)
LIGHT = Theme(
    name="bevelwright-light",
    primary="#0b3d73",
    secondary="#2c3a48",
    accent="#6b3d00",
    foreground="#14181c",
    background="#fbfaf7",
    surface="#f3f1ec",
    panel="#e7e4dd",
    warning="#6b3d00",
    error="#8a1209",
    success="#0d4f1f",
    dark=False,
    variables={"text-muted": "#3a424a", "footer-key-foreground": "#6b3d00"},
)
