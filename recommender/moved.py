"""Modules that plug-ins may import under the name that they had in an earlier version.

A plug-in that was written for version 0.1 imports, say, `recommender.models.tables`. Such an import finds the module
where it stands today and warns; the old name goes two minor releases after the one that announced it. Only names that
do not exist any more come here, so that nothing else is slowed; what is imported at the top is loaded already.
"""

from __future__ import annotations

import sys
from importlib.machinery import ModuleSpec

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from types import ModuleType

_ROOMS = {
    "models.knowledge": "rule tables rules_diff coverage",
    "models.answer": "proposal trial sweep",
    "models.workshop": "shop quote book worksheet document sheet",
    "drawing.text.answer": "answer_text blade_text compare_text figures_text firmness_text form_text "
    "life_text section_text words_text",
    "drawing.text.measured": "identify_text",
    "drawing.text.workshop": "worksheet_text price_text shop_rates_text sweep_csv",
    "drawing.text.rules": "rule_text rules_text rules_diff_text coverage_text findings_text plugins_text glossary_text",
    "drawing.sheet": "line_styles dimensions lettering side_view section_views title_block",
    "drawing.sheet.writers": "sheet_svg sheet_dxf sheet_pdf",
    "drawing.documents": "quote_document document_markdown document_pdf text_pdf picture",
}
"""Rooms -> modules that stood in the folder above them in 0.1."""
_RENAMED = {
    "models.life": "models.answer.sharpening_life",
    "geometry.plan": "geometry.side_views",
    "mechanics.blade": "mechanics.blade_bending",
    "drawing.page": "drawing.text.text_page",
    "drawing.canvas": "drawing.text.braille_canvas",
    "drawing.in_hand_text": "drawing.text.measured.existing_blade_text",
    "drawing.shop_text": "drawing.text.answer.shop_figures_text",
    "drawing.book_text": "drawing.text.workshop.quote_book_text",
    "drawing.workshop_sheet": "drawing.sheet.workshop_page",
    "drawing.template_sheet": "drawing.sheet.template_page",
    "drawing.drawn": "drawing.sheet.drawn_blade",
    "drawing.boxes": "drawing.sheet.label_boxes",
    "drawing.pages.book": "drawing.pages.page_set",
}
_IN_ROOMS = {f"{room.partition('.')[0]}.{name}": f"{room}.{name}" for room in _ROOMS for name in _ROOMS[room].split()}
MOVED = {f"recommender.{old}": f"recommender.{new}" for old, new in (_IN_ROOMS | _RENAMED).items()}
"""Name in version 0.1 -> name today."""


class _MovedModules:
    """A finder and loader (importlib.abc) of what others did not find."""

    def __init__(self) -> None:
        self._specs: dict[str, ModuleSpec | None] = {}

    def find_spec(
        self, name: str, path: Sequence[str] | None = None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        return ModuleSpec(name, self) if name in MOVED else None  # type: ignore[arg-type]  # its methods make it one

    def create_module(self, spec: ModuleSpec) -> ModuleType:
        import importlib
        import warnings

        warnings.warn(f"{spec.name} is now {MOVED[spec.name]}", DeprecationWarning, stacklevel=2)
        module = importlib.import_module(MOVED[spec.name])
        self._specs[module.__name__] = module.__spec__
        return module

    def exec_module(self, module: ModuleType) -> None:
        # It has been executed under its own name; the machinery has put the old name's specification on it since.
        module.__spec__ = self._specs.pop(module.__name__)


def install() -> None:
    """Let the old names be found."""
    sys.meta_path.append(_MovedModules())
