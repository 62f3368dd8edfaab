"""The only door for every face: knowledge, briefs, recommendations, rules, the workshop."""

from __future__ import annotations

from dataclasses import dataclass

from recommender.engine.briefs import MAX_BRIEF_BYTES as MAX_BRIEF_BYTES
from recommender.engine.briefs import brief_toml as brief_toml
from recommender.engine.briefs import read_brief as read_brief
from recommender.engine.briefs import with_settings as with_settings
from recommender.engine.readings import LARGEST_WHEEL_MM as LARGEST_WHEEL_MM
from recommender.engine.readings import Blade
from recommender.engine.readings import parse_readings as parse_readings
from recommender.engine.section import SectionRequest as SectionRequest
from recommender.plugin.told import PluginTold as PluginTold
from recommender.service.rules import Rules
from recommender.service.workshop import Workshop

CaliperBlade = Blade
"""A blade in the hand as calipers read it."""


@dataclass
class Service(Workshop, Rules):
    """Plug-ins and packs loaded once, then asked."""
