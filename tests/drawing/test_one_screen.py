"""An answer in one breath and on one screen: short enough to be read, and no warning left out."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from recommender.drawing.lengths import Lengths
from recommender.drawing.text.answer.answer_text import answer_text, evidence_words
from recommender.drawing.text.answer.firmness_text import flips_in_short
from recommender.drawing.text.answer.one_screen import MOST_LINES, screen_text
from recommender.drawing.text.answer.summary_text import likely, sentences, summary
from recommender.models.answer.proposal import EQUAL_POINTS, Answer, Flip
from recommender.models.brief import Brief
from recommender.service import Service, read_brief, with_settings

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = sorted(path.stem for path in SCENARIOS.glob("*.toml") if not path.name.endswith(".expected.toml"))
AUDIENCES = ("buyer", "maker")


@pytest.fixture(params=NAMES)
def answer(request: pytest.FixtureRequest, service: Service) -> Answer:
    path = SCENARIOS / f"{request.param}.toml"
    return service.recommend(read_brief(path.read_bytes(), path.name), flips=False)


@pytest.fixture(scope="module")
def cook(service: Service) -> Answer:
    return service.recommend(with_settings(Brief(), ("tasks.food-prep=1",)))


def lines_of(answer: Answer, service: Service, audience: str, **options: object) -> list[str]:
    head, tail = screen_text(answer, service.drawings.outline_of(answer), audience=audience, **options)
    return [*head.splitlines(), "", *tail.splitlines()]


@pytest.mark.parametrize("audience", AUDIENCES)
def test_it_is_one_screen_and_says_every_warning(answer: Answer, service: Service, audience: str) -> None:
    if answer.proposal is None:
        return
    lines = lines_of(answer, service, audience)
    assert max(map(len, lines)) <= 80
    text = " ".join(" ".join(lines).split())
    guards = [w for w in answer.cautions if w.short and w.audience in ("everyone", audience)]
    assert guards
    for word in guards:
        assert word.short in text
    drawn = any(set(line) & set("⣀⣿") for line in lines)
    assert len(lines) <= MOST_LINES or not drawn
    assert f"{answer.proposal.edge_angle_per_side_deg:g}°" in text
    assert f"{answer.proposal.edge_angle_included_deg:g}° included" in text


@pytest.mark.parametrize("maker", [False, True])
def test_the_first_sentences_are_for_a_person(answer: Answer, maker: bool) -> None:
    assert answer.summary is not None
    said = sentences(answer.summary, maker=maker)
    assert said[0]
    for sentence in said:
        assert sentence[0].isupper()
        assert sentence.endswith(".")
        assert "points" not in sentence
        assert "  " not in sentence
    if answer.proposal is not None and not maker:
        assert "in all" in answer.summary.ask_for or answer.proposal.side != "both"


def test_a_cook_can_repeat_it(cook: Answer, service: Service) -> None:
    found = cook.summary
    assert found is not None
    assert found.ask_for.startswith("A stainless kitchen knife about 20 cm long, thin (")
    assert "ground flat from back to edge, its edge at " in found.ask_for
    assert found.not_for == "Not for bone, frozen food or shells, nor for levering or turning screws."
    text = " ".join(" ".join(lines_of(cook, service, "buyer")).split())
    assert "another grind" in text
    assert "--what-if" in text
    inches = summary(cook, found.named, Lengths(inches=True))
    assert "about 8 inches long" in inches.ask_for
    assert " mm" not in " ".join(lines_of(cook, service, "buyer", inches=True))


def test_two_that_are_as_good_are_both_named_and_the_chance_is_of_both(answer: Answer) -> None:
    found = answer.summary
    equal = [a for a in answer.alternatives if a.proposal and a.behind is not None and abs(a.behind) < EQUAL_POINTS]
    if found is None or answer.proposal is None or answer.brief.wishes.grind is not None:
        return
    assert ("either " in found.ask_for) == bool(equal)
    assert all(a.grind_label in found.grind for a in equal)
    assert not any(f"Next best: {a.grind_label}," in found.next_best for a in equal)
    if answer.confidence is not None and answer.alternatives:
        wins = answer.confidence.wins
        chance = sum(wins.get(grind, 0.0) for grind in (answer.proposal.grind, *(a.grind for a in equal)))
        told = "more than 99" if chance > 0.995 else f"{100 * chance:.0f}"  # draws are no proof of always
        assert f" {told} of 100 " in found.sure


def test_how_sure_takes_nothing_back(service: Service) -> None:
    """The head stands before it is known how sure the answer is."""
    brief = with_settings(Brief(), ("tasks.food-prep=1", "tasks.fine-slicing=1"))
    first, *_, last = list(service.answers(brief, flips=False))
    assert first.summary is not None
    assert last.summary is not None
    assert first.summary.sure == ""
    assert last.summary.sure != ""
    assert first.summary == last.summary.model_copy(update={"sure": ""})


def test_a_wish_is_never_called_the_best(ask) -> None:
    answer = ask("tasks.food-prep=1", "wishes.grind=saber-convex")
    assert answer.summary.next_best.startswith("Without the wish: ")
    assert "either" not in answer.summary.ask_for


def test_the_chance_beside_a_wish_is_of_what_it_names(ask) -> None:
    """First of what would be proposed without the wish, all that is as good, then of the one wished."""
    settings = ("tasks.wood-splitting=1", "workshop.wheels_mm=350")
    free, wished = ask(*settings), ask(*settings, "wishes.grind=full-hollow")
    assert free.proposal.grind != "full-hollow"
    said = re.search(r"without the wish (.+?) would be the best in (\d+) of 100", wished.summary.sure)
    labels = {a.grind_label: a.grind for a in wished.alternatives}
    named = [labels[label] for label in said[1].split(" or ")]
    assert free.proposal.grind in named
    wins = wished.confidence.wins
    assert int(said[2]) == pytest.approx(100 * sum(wins[grind] for grind in named), abs=1)
    assert wins.get("full-hollow", 0) < 0.005
    assert "; full hollow in fewer than 1." in wished.summary.sure
    assert f"{said[1]} would serve much better" in wished.summary.first


def test_a_grind_that_is_the_best_more_often_is_named(cook: Answer) -> None:
    """By the likely numbers one leads, by the draws another: both stand there, each with its own chance."""
    other = next(a for a in cook.alternatives if a.behind is not None and a.behind > EQUAL_POINTS)
    wins = {other.grind: 0.6, cook.proposal.grind: 0.4}
    sure = cook.confidence.model_copy(update={"wins": wins, "may_break": ()})
    told = summary(cook.model_copy(update={"confidence": sure}), cook.summary.named).sure
    assert " in 40 of 100 " in told
    assert told.endswith(f"; {other.grind_label} in 60.")


def test_an_estimate_is_told_to_two_digits(cook: Answer) -> None:
    """Their bands are tens of percent wide; a third digit would be made up."""
    page = answer_text(cook, None, names=("figures", "why"), audience="maker")
    found = re.findall(r"~ ([\d.,]+)", page) + re.findall(r"~ [^\[\]]*?, from ([\d.,]+)", page)
    assert len(found) > 12
    for number in found:
        digits = number.strip(",.").replace(",", "").replace(".", "").lstrip("0")
        assert len(digits.rstrip("0")) <= 2, number


def test_nothing_fits_is_said_first(ask) -> None:
    answer = ask("tasks.food-prep=1", "wishes.grind=full-hollow", "workshop.wheels_mm=")
    assert answer.proposal is None
    assert sentences(answer.summary, maker=False) == ["Nothing fits this brief; no wish was replaced."]


@pytest.mark.parametrize(
    ("chance", "word"),
    [(1.0, "very likely"), (0.9, "very likely"), (0.89, "likely"), (0.66, "likely"), (0.65, "about as likely as not"),
     (0.33, "about as likely as not"), (0.32, "unlikely"), (0.0, "very unlikely"), (0.2, "unlikely")],
)  # fmt: skip
def test_words_for_chances(chance: float, word: str) -> None:
    """Mastrandrea et al., IPCC guidance note (2010), table 1; from memory."""
    assert likely(chance) == word


UPKEEP = {
    "corrosion-salt-stainless", "corrosion-sheath", "corrosion-wet", "edge-fixture-clamp", "edge-handing-over",
    "edge-honing-steel-hard", "edge-pull-through-thin", "edge-sharpening", "fit-thick-stock", "food-handmade-surface",
    "food-rust-pits", "hardness-below-range",
}  # fmt: skip
"""Cautions that spare blade or buyer, or belong to the sharpening; those of the workshop begin so."""


def test_every_caution_that_guards_a_person_has_its_line(service: Service) -> None:
    cautions = {loaded.rule.id: loaded.rule.effect for loaded in service.knowledge.of_kind("caution")}
    without = {id_ for id_, effect in cautions.items() if effect.short is None}
    assert {id_ for id_ in without if not id_.startswith(("grinding-", "heat-"))} == UPKEEP
    for effect in cautions.values():
        assert effect.short is None or (effect.short.endswith(".") and effect.short[0].isupper())
        assert effect.forbids is None or effect.short is not None


def test_every_grind_and_task_has_words_for_a_shop(service: Service) -> None:
    assert [id_ for id_, stamped in service.registry.grinds.items() if not stamped.item.ground] == []
    assert [id_ for id_, task in service.knowledge.tasks.items() if task.blade_name == "knife"] == []


def test_what_cannot_be_ground_without_its_machine_is_no_news(cook: Answer) -> None:
    """That a shop without a platen grinds nothing flat needs no telling; the page of what-ifs has it all the same."""
    assert cook.proposal is not None
    gone = Flip(
        kind="workshop", words="without a platen", settings=("workshop.platen=false",), amount=None,
        grind="convex", grind_label="full convex", lead=None,
    )  # fmt: skip
    told = Flip(
        kind="gear", words="with nothing but strop", settings=("owner.gear=strop",), amount=None,
        grind="chisel", grind_label="chisel", lead=1.5,
    )  # fmt: skip
    text = flips_in_short(cook.model_copy(update={"flips": (gone, told)}))
    assert "platen" not in text
    assert "with nothing but strop (chisel)" in text
    assert "Little would" in flips_in_short(cook.model_copy(update={"flips": (gone,)}))


def test_how_well_founded_an_answer_is_has_its_own_word(cook: Answer) -> None:
    """How sure the choice is says nothing of how well founded its numbers are: estimates can agree."""
    goals = [reason for reason in cook.reasons if reason.kind == "goal"]
    assert evidence_words(cook.reasons).startswith("Evidence: thin; of ")  # nearly all of it is estimated today
    published = [
        reason.model_copy(update={"basis": reason.basis.model_copy(update={"level": "published"})}) for reason in goals
    ]
    assert evidence_words(published).startswith("Evidence: firm")
    assert evidence_words([]) == ""
