"""Two blades for work that quarrels: the first for what one blade serves, the second for the rest."""

from __future__ import annotations

from recommender.errors import InputError
from recommender.models.answer.proposal import Answer
from recommender.models.brief import BladeBrief, Brief, Wishes
from recommender.service.briefs import Briefs


def split(brief: Brief, answer: Answer) -> tuple[Brief, Brief]:
    """The brief of the first blade, and that of the second, by what the answer of one blade serves poorly.

    The second has what is served poorly; where nothing is, or everything, what is served least. Sizes and wishes were
    meant for one blade: the second has none. Raises InputError for a brief of one task.
    """
    fits = answer.task_fit
    if len(fits) < 2:
        raise InputError("one task takes one blade", key="tasks", expected="two tasks or more")
    poor = set(answer.served_poorly)
    if not poor or len(poor) == len(fits):
        poor = {min(fits, key=lambda task: fits[task])}
    shares = answer.brief.tasks
    first, second = (
        {task: share for task, share in shares.items() if (task in poor) is asked} for asked in (False, True)
    )
    return (
        brief.model_copy(update={"tasks": first}),
        brief.model_copy(update={"tasks": second, "blade": BladeBrief(), "wishes": Wishes()}),
    )


def two_blades(briefs: Briefs, brief: Brief, file: str = "brief") -> Answer:
    """The answer for the first blade, with that for the second as its `second_blade`.

    Raises InputError for a brief of one task, or one that makes no sense.
    """
    whole = next(briefs.answers(brief, file))  # how sure it is does not matter here
    first, second = split(brief, whole)
    answered = briefs.recommend(second, file, flips=False)
    return briefs.recommend(first, file, flips=False).model_copy(update={"second_blade": answered})
