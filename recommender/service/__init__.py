"""The only door for every face: knowledge, briefs, recommendations, rules, the workshop."""

from __future__ import annotations

from dataclasses import dataclass

from recommender.engine.identify.readings import LARGEST_WHEEL_MM as LARGEST_WHEEL_MM
from recommender.engine.identify.readings import CaliperBlade as CaliperBlade
from recommender.engine.identify.readings import parse_readings as parse_readings
from recommender.engine.identify.section_figures import SectionRequest as SectionRequest
from recommender.engine.intake.brief_text import MAX_BRIEF_BYTES as MAX_BRIEF_BYTES
from recommender.engine.intake.brief_text import brief_toml as brief_toml
from recommender.engine.intake.brief_text import read_brief as read_brief
from recommender.engine.intake.brief_text import with_settings as with_settings
from recommender.plugin.plugin_status import PluginStatus as PluginStatus
from recommender.service.rules import Rules
from recommender.service.workshop import Workshop


@dataclass
class Service(Workshop, Rules):
    """Plug-ins and packs loaded once, then asked."""
