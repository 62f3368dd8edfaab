"""The one declaration of every fact; whoever asks, computes, checks, samples or shows facts reads it here."""

from __future__ import annotations

from recommender.models.brief_fields import BRIEF_FIELDS
from recommender.packs.facts.derived import DERIVED
from recommender.packs.facts.fact import Fact, Follows, FormRow, HoldsWhere
from recommender.packs.facts.of_briefs import FORM
from recommender.packs.facts.of_designs import DESIGN

__all__ = ["BRIEF", "FACTS", "FORM", "Fact", "Follows", "FormRow", "HoldsWhere"]

_by_key = {fact.key: fact for fact in FORM}
BRIEF = tuple(_by_key[key] for key in BRIEF_FIELDS)
"""Every field of a brief, in the order of the model; `FORM` has them in the order in which they are asked."""
FACTS = {fact.name: fact for fact in (*BRIEF, *DESIGN, *DERIVED) if fact.about is not None}
"""Everything that rules may name, metrics apart."""
