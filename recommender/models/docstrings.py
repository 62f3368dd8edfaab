"""The docstrings below a model's fields, read from its source when somebody wants them."""

from __future__ import annotations

import ast
import functools
import inspect
import textwrap
from collections.abc import Mapping
from itertools import pairwise


@functools.cache
def attribute_docstrings(model: type) -> Mapping[str, str]:
    """Field -> the text below it, on one line; inherited ones too, none where the source is not there.

    >>> from recommender.models.knowledge.tables import Task
    >>> attribute_docstrings(Task)["words"]
    'Everyday words that people type for it.'
    """
    found: dict[str, str] = {}
    for part in reversed(model.__mro__):
        try:
            source = inspect.getsource(part)
        except (OSError, TypeError):
            continue
        (defined,) = ast.parse(textwrap.dedent(source)).body
        for field, text in pairwise(getattr(defined, "body", ())):
            match field, text:
                case ast.AnnAssign(target=ast.Name(id=name)), ast.Expr(value=ast.Constant(value=str(words))):
                    found[name] = " ".join(words.split())
    return found
