"""Plug-ins as a list: what each gives, what failed, which are blocked; and what a check found."""

from __future__ import annotations

from collections.abc import Sequence

from recommender.drawing.text.text_page import TextPage
from recommender.plugin.plugin_status import PluginStatus
from recommender.text import plural


def plugins_text(plugins: Sequence[PluginStatus], block_list: str, *, width: int = 80) -> str:
    """Write plug-ins, one a part."""
    page = TextPage(width)
    for plugin in plugins:
        disabled = f"disabled by {plugin.disabled_by}: not imported"
        state = {"loaded": f"API {plugin.api}", "failed": "failed", "blocked": disabled}[plugin.state]
        page.line(f"{plugin.name}, {state}")
        for words in plugin.gives:
            page.line(words, "  ", "    ")
        for words in plugin.failed:
            page.line(f"failed: {words}", "  ", "    ")
    page.gap()
    page.line(f"The block list is {block_list}, one name a line.")
    page.line("Plug-ins run with your rights: install only those you trust. Packs of rules are data and safe to read.")
    return page.text()


def checked_text(name: str, found: Sequence[str], seconds: float, *, width: int = 80) -> str:
    """Write what a check found of one plug-in or pack."""
    page = TextPage(width)
    page.line(f"{name}: {plural(len(found), 'finding') if found else 'sound'} ({seconds:.1f} s)")
    for words in found:
        page.line(words, "  - ", "    ")
    return page.text()
