"""What fails, is printed or is added by a plug-in belongs to the answer at hand and is named wherever it happens."""

import contextlib
import dataclasses
import io
import json
import sys
import threading
import types

import numpy as np
import pytest

from recommender.errors import GeometryError, PluginError
from recommender.models.brief import Brief
from recommender.models.workshop.quote import Order
from recommender.plugin.api import Grind, Metric, Parameter
from recommender.plugin.hooks import hookimpl
from recommender.plugin.testing import check_plugin
from recommender.service import CaliperBlade, SectionRequest, Service, parse_readings, with_settings
from recommender.units import Unit

KITCHEN = with_settings(Brief(), ["tasks.food-prep=1"])
SPLITTING = with_settings(Brief(), ["tasks.wood-splitting=1"])
FLAT = Service().registry.grinds["full-flat"].item
WIDTH, DEPTH = "fuller_width_mm", "fuller_depth_mm"


def plugin(**hooks):
    given = {name: hookimpl(lambda items=items: items) for name, items in hooks.items()}
    return types.SimpleNamespace(BEVELWRIGHT_API=1, **given)


def metric(compute, **changes) -> Metric:
    return Metric("mine", "mine", Unit.MM, "lower", "A figure of the test.", False, compute, **changes)


def fullered(**changes) -> Grind:
    """A flat grind with a fuller of 12 x 0.5 mm, whose radius is a column of its own: (w^2 + 4 d^2) / 8 d."""

    def complete(designs):
        width, depth = designs[WIDTH], designs[DEPTH]
        return FLAT.complete(designs).changed(fuller_radius_mm=(width**2 + 4 * depth**2) / (8 * depth), in_words="yes")

    def outlines(designs):
        # The radius has to be there whenever the blade is drawn; its own shape does not matter to the test.
        assert (designs["fuller_radius_mm"] > 0).all()
        assert (designs["in_words"] == "yes").all()
        return FLAT.outlines(designs)

    own = (
        Parameter(WIDTH, "width of the fuller", Unit.MM, 12.0, 12.4, 0.5),
        Parameter(DEPTH, "depth of the fuller", Unit.MM, 0.5, 0.54, 0.05),
    )
    given = {"id": "fullered", "label": "fullered flat", "complete": complete, "outlines": outlines}
    return dataclasses.replace(FLAT, **{**given, "parameters": (*FLAT.parameters, *own), **changes})


WISH = with_settings(Brief(), ["tasks.food-prep=1", "wishes.grind=fullered"])


# Failures.


def splits_only(sections, context):
    """Fails in answers about splitting."""
    if any(load.task.id == "wood-splitting" for load in context.tasks):
        raise RuntimeError("cannot split")
    return np.zeros(len(sections))


def test_what_failed_in_one_answer_is_not_told_in_the_next() -> None:
    service = Service(plugins={"splitter": plugin(metrics=[metric(splits_only)])})
    (failed,) = service.recommend(SPLITTING, flips=False).provenance.failed
    assert failed.endswith("failed while computing mine: RuntimeError: cannot split")
    after = service.recommend(KITCHEN, flips=False)
    assert after.provenance.failed == []
    fresh = Service(plugins={"splitter": plugin(metrics=[metric(splits_only)])}).recommend(KITCHEN, flips=False)
    assert after.as_json() == fresh.as_json()


def test_a_swept_row_tells_its_own_failures_alone() -> None:
    service = Service(plugins={"splitter": plugin(metrics=[metric(splits_only)])})
    rows = [{"tasks": {"wood-splitting": 1}}, {"tasks": {"food-prep": 1}}]
    lines = "\n".join(map(json.dumps, rows)).encode()
    swept = [row for _, row in service.batch.sweep(service.batch.rows(io.BytesIO(lines), Brief(), "jsonl"))]
    assert [len(row.failed) for row in swept] == [1, 0]


def test_one_grind_that_a_metric_cannot_measure_stays_its_own_whatever_failed_before() -> None:
    """A batch of several grinds is measured again grind by grind, also where the metric has failed at another thing."""

    def not_tall(sections, context):
        if (sections.designs["height_mm"] > 40).any():
            raise RuntimeError("too tall")
        return np.ones(len(sections))

    service = Service(plugins={"short": plugin(metrics=[metric(not_tall)])})
    tall, low = (with_settings(Brief(), [f"blade.height_mm={height}"]) for height in (50, 25))
    assert service.recommend(tall, flips=False).metrics["mine"].value is None
    answer = service.recommend(low, flips=False)
    assert answer.metrics["mine"].value == 1.0
    assert answer.provenance.failed == []


# Columns and parameters of a grind's own.


def test_a_grind_keeps_the_columns_that_it_adds() -> None:
    service = Service(plugins={"mine": plugin(grinds=[fullered()])}, strict=True)
    answer = service.recommend(WISH)
    assert answer.proposal is not None
    assert answer.proposal.columns == {
        "fuller_radius_mm": pytest.approx(36.25),
        "in_words": "yes",
    }  # (144 + 1) / 4 = 36.25
    assert service.briefs.weigh(WISH, answer.proposal).points == answer.points
    assert service.briefs.life_of(answer, WISH).blades
    assert json.loads(json.dumps(answer.as_json()))["proposal"]["columns"]["in_words"] == "yes"


def test_a_grind_is_not_given_the_columns_of_others() -> None:
    service = Service(plugins={"mine": plugin(grinds=[fullered()])})
    answer = service.recommend(KITCHEN, flips=False)
    for other in answer.alternatives:
        if other.proposal is not None and other.grind != "fullered":
            assert other.proposal.columns == {}, other.grind


def test_what_a_grind_adds_is_printed_where_dimensions_are() -> None:
    service = Service(plugins={"mine": plugin(grinds=[fullered()])})
    papers = service.workshop.papers(WISH, service.recommend(WISH, flips=False))
    assert set(papers) == {"answer", "drawing", "set-up sheet", "quote"}
    for paper, words in papers.items():
        flat = " ".join(words.replace("|", " ").split()).casefold()
        assert "width of the fuller 12 mm" in flat, paper
        assert "depth of the fuller 0.5 mm" in flat, paper


def test_the_kit_finds_a_parameter_that_nobody_is_shown() -> None:
    def dropping(designs):
        whole = fullered().complete(designs)
        return type(whole)({name: column for name, column in whole.columns.items() if name != DEPTH})

    found = [str(f) for f in check_plugin(plugin(grinds=[fullered(complete=dropping)]))]
    assert any(f"complete drops the parameters {DEPTH}" in words for words in found)
    assert any(f"designs came back without {DEPTH}" in words for words in found)
    assert check_plugin(plugin(grinds=[fullered()])) == []


# Guarded calls.


class Switched:
    """A grind and a metric that work until they are switched off."""

    def __init__(self) -> None:
        self.off = False
        work = ("outlines", "complete", "refusals")
        self.grind = fullered(**{name: self._until_off(getattr(fullered(), name)) for name in work})

    def _until_off(self, function):
        def called(*args):
            if self.off:
                raise ZeroDivisionError("switched off")
            return function(*args)

        return called


ASKED = {
    "section": lambda s, a: s.measured.section(SectionRequest("fullered", 3.0, 30.0, 30.0, 0.4, 15.0)),
    "section_of": lambda s, a: s.drawings.section_of(a.proposal),
    "view": lambda s, a: s.drawings.view(a.proposal),
    "sheet": lambda s, a: s.drawings.sheet(a),
    "svg": lambda s, a: s.drawings.document(a, "svg"),
    "life": lambda s, a: s.briefs.life_of(a, WISH),
    "weigh": lambda s, a: s.briefs.weigh(WISH, a.proposal),
    "changed": lambda s, a: s.briefs.changed(WISH, a.proposal, {"edge_thickness_mm": 0.5}),
    "worksheet": lambda s, a: s.workshop.worksheet(WISH, a, s.workshop.shop()),
    "price": lambda s, a: s.workshop.price(a, Order(), s.workshop.shop()),
    "rulings": lambda s, a: s.briefs.rule_traces(WISH, a),
    "grinds_drawn": lambda s, a: s.drawings.grinds_drawn(),
    "measure": lambda s, a: s.measured.identify(
        CaliperBlade(parse_readings(f"{y}:{0.4 + 0.09 * y}" for y in (2, 4, 7, 10, 14, 19, 24, 28)))
    ),
    "recommend": lambda s, a: s.recommend(WISH, flips=False),
    "pages": lambda s, a: s.drawings.document_data(a),
}


@pytest.mark.parametrize("asked", ASKED)
def test_whatever_is_asked_of_a_grind_that_fails_names_it_or_does_without(asked: str) -> None:
    mine = Switched()
    service = Service(plugins={"mine": plugin(grinds=[mine.grind])})
    answer = service.recommend(WISH, flips=False)
    mine.off = True
    # Named, or done without; what cannot be drawn has no form to be followed in either.
    with contextlib.suppress(GeometryError), naming("mine", "switched off"):
        ASKED[asked](service, answer)


@contextlib.contextmanager
def naming(name: str, cause: str):
    """Allow a plug-in's failure that names it and the cause."""
    try:
        yield
    except PluginError as error:
        if error.plugin != name or cause not in str(error):
            raise


# Print.


def noisy(sections, context):
    print("loud", end="")
    sys.stdout.buffer.write(b"bytes")
    return np.zeros(len(sections))


def test_plugins_that_print_in_several_threads_at_once_fail_in_none(capsys: pytest.CaptureFixture[str]) -> None:
    """Each thread's prints are its own: nothing is swapped to and fro under the others."""
    service = Service(plugins={"noisy": plugin(metrics=[metric(noisy)])})
    briefs = [KITCHEN, SPLITTING] * 2
    alone = [service.recommend(brief, flips=False).as_json() for brief in briefs[:2]] * 2
    found: dict[int, object] = {}

    def ask(k: int) -> None:
        found[k] = service.recommend(briefs[k], flips=False).as_json()

    # As the interface does: somebody else has set standard output anew meanwhile.
    with contextlib.redirect_stdout(io.StringIO()) as elsewhere:
        threads = [threading.Thread(target=ask, args=(k,)) for k in range(len(briefs))]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert [found[k] for k in range(len(briefs))] == alone
    assert all(not answer["provenance"]["failed"] for answer in alone)
    assert elsewhere.getvalue() == ""
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "loudbytes" in captured.err


def test_answers_one_after_the_other_do_not_stack_up(capsys: pytest.CaptureFixture[str]) -> None:
    service = Service(plugins={"noisy": plugin(metrics=[metric(noisy)])})
    for _ in range(3):
        assert service.recommend(KITCHEN, flips=False).provenance.failed == []
    print("ours")
    assert capsys.readouterr().out == "ours\n"


def test_a_thread_of_a_plugin_does_not_print_among_answers(capsys: pytest.CaptureFixture[str]) -> None:
    def threaded(sections, context):
        thread = threading.Thread(target=print, args=("from a thread",))
        thread.start()
        thread.join()
        return np.zeros(len(sections))

    assert Service(plugins={"mine": plugin(metrics=[metric(threaded)])}).recommend(KITCHEN, flips=False)
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "from a thread" in captured.err
