"""A shop fills what a brief leaves open, its allowances stand on every paper, and what it makes is charged for.

Source: arithmetic by hand; the allowance before hardening is common practice (twice the skin, 0.001 of the length).
"""

from __future__ import annotations

import dataclasses
import math
import re
from datetime import date
from pathlib import Path

import pytest

from recommender.drawing.documents.document_markdown import document_markdown
from recommender.drawing.lengths import Lengths, angle
from recommender.drawing.sheet.title_block import _tolerances
from recommender.drawing.text.answer.answer_text import answer_text
from recommender.drawing.text.workshop.worksheet_text import worksheet_text
from recommender.engine.answer.blade_figures import shop_figures
from recommender.engine.answer.explain import designs_of
from recommender.engine.answer.tried_blade import followed_blade, form_of, sized
from recommender.engine.intake.case import Case
from recommender.engine.search.blade_form import in_form
from recommender.folders import user_folder
from recommender.models.answer.proposal import Answer, Proposal
from recommender.models.brief import Brief
from recommender.models.workshop.quote import Order
from recommender.models.workshop.sheet import Label
from recommender.models.workshop.shop import Shop
from recommender.service import Service, with_settings
from recommender.shop.price.removal import Tang, removal, tang_of
from recommender.shop.price.work import fitting, work
from recommender.shop.rates.calibration import Job, fits
from recommender.shop.rates.shop_file import shipped
from tests.conftest import Scenario

SKIN = 0.25


@pytest.fixture
def shop_toml(tmp_path: Path) -> str:
    """A shop with two wheels, a thick skin and letter paper."""
    text = shipped().decode().replace('paper = "a4"', 'paper = "letter"')
    text = re.sub(r"^wheels_mm = .*$", "wheels_mm = [150, 60]", text, flags=re.MULTILINE)
    text = re.sub(r"^skin_per_side_mm = [\d.]+", f"skin_per_side_mm = {SKIN}", text, flags=re.MULTILINE)
    path = tmp_path / "shop.toml"
    path.write_text(text)
    return str(path)


def test_a_shop_fills_what_a_brief_leaves_open(shop_toml: str) -> None:
    service = Service(shop=shop_toml)
    resolved = service.briefs.resolve(with_settings(Brief(), ["tasks.food-prep=1"]))
    assert resolved.workshop.wheels_mm == (60.0, 150.0)
    source = resolved.sources["workshop.wheels_mm"]
    assert (source.kind, shop_toml in source.reason) == ("derived", True)
    stated = service.briefs.resolve(with_settings(Brief(), ["workshop.wheels_mm=200"]))
    assert stated.workshop.wheels_mm == (200.0,)
    assert stated.sources["workshop.wheels_mm"].kind == "given"


def test_the_makers_own_shop_counts_and_the_shipped_one_does_not(service: Service, shop_toml: str) -> None:
    assert service.briefs.resolve(Brief()).sources["workshop.wheels_mm"].kind == "default"
    own = user_folder("config") / "shop.toml"
    own.parent.mkdir(parents=True, exist_ok=True)
    own.write_bytes(Path(shop_toml).read_bytes())
    try:
        assert Service().briefs.resolve(Brief()).workshop.wheels_mm == (60.0, 150.0)
        assert Service(own_shop=False).briefs.resolve(Brief()).sources["workshop.wheels_mm"].kind == "default"
    finally:
        own.unlink()


def test_a_question_of_what_if_is_put_to_the_same_shop(shop_toml: str) -> None:
    case = Service(shop=shop_toml).briefs.case(Brief())
    assert case.asked_with(["owner.climate=salt"]).workshop.wheels_mm == (60.0, 150.0)


@pytest.mark.parametrize("settings", [("tasks.food-prep=1",), ("tasks.game-dressing=0.6", "tasks.prying=0.4")])
def test_the_edge_before_hardening_is_one_number(settings: tuple[str, ...], shop_toml: str) -> None:
    service = Service(shop=shop_toml)
    brief = with_settings(Brief(), settings)
    answer = service.recommend(brief, flips=False)
    p, shop = answer.proposal, service.workshop.shop(shop_toml)
    assert p is not None
    assert answer.shop is not None
    by_hand = max(0.5, p.edge_thickness_mm + 2 * SKIN + 0.001 * p.blade_length_mm)
    if p.stock_thickness_mm < 2:
        by_hand = p.stock_thickness_mm  # hardened as a bar
    assert answer.shop.edge_thickness_before_hardening_mm == pytest.approx(by_hand, abs=0.006)
    sheet = service.workshop.worksheet(brief, answer, shop)
    assert sheet.hardening.edge_before_mm == answer.shop.edge_thickness_before_hardening_mm
    number = Lengths()(sheet.hardening.edge_before_mm)
    drawing = [
        item.text.replace("\xa0", " ")
        for page in service.drawings.sheet(answer).pages
        for item in page.on_paper()
        if isinstance(item, Label)
    ]
    assert any(text.startswith(f"leave ~ {number}") for text in drawing), drawing
    assert f"~ {number} behind the edge-to-be" in worksheet_text(sheet)
    assert f"edge before hardening       ~ {number}" in answer_text(answer, None, audience="maker")


def test_no_temperature_stands_under_harden_and_temper(service: Service, answered, shop) -> None:
    for name in ("left-handed-hunter", "kindling-froe-splitter"):
        text = worksheet_text(service.workshop.worksheet(answered[name].brief, answered[name].answer, shop))
        (step,) = re.findall(r"\d\. Harden and temper\n(.*?)\n\n", text, re.DOTALL)
        assert "°" not in step
        assert "supplier's sheet has to say" in step


def test_the_drawing_gives_no_tolerance_where_there_is_no_room(answered) -> None:
    seen = 0
    for scenario in answered.values():
        text = _tolerances(scenario.answer, Lengths())
        for t in scenario.answer.tolerances:
            if t.dimension == "edge_angle_per_side_deg" and (t.room_under == 0) != (t.room_over == 0):
                seen += 1
                assert f"edge angle +{0 if t.room_over == 0 else 0.5}/−{0 if t.room_under == 0 else 0.5}°" in text
    assert seen, "no scenario has an angle without room to one side"


def test_the_tang_is_made_as_well(service: Service, answered, shop) -> None:
    p = answered["left-handed-hunter"].proposal
    blade = followed_blade(service.grinds[p.grind], p)
    height = float(blade.height_mm[0, 0])
    tang = tang_of(blade, shop.material)
    assert (tang.length_mm, tang.width_mm) == (110, min(height, 30))
    without, whole = (removal(blade, 40.0, 4.0, t) for t in (Tang(), Tang(110.0, 20.0)))
    assert whole.outline_mm - without.outline_mm == pytest.approx(2 * 110 + 20 + abs(height - 20))
    assert whole.tang_faces_mm2 == pytest.approx(2 * 110 * 20)
    assert whole.clean_up_mm3 - without.clean_up_mm3 == pytest.approx(110 * 20 * (4 - p.stock_thickness_mm))
    assert whole.profile_mm3 - without.profile_mm3 == pytest.approx((40 - 20) * 110 * 4)
    untouched = {"outline_mm", "tang_faces_mm2", "clean_up_mm3", "profile_mm3"}
    for field in dataclasses.fields(whole):
        if field.name not in untouched:
            assert getattr(whole, field.name) == getattr(without, field.name), field.name
    short = shop.model_copy(update={"material": shop.material.model_copy(update={"tang_length_mm": 0.0})})
    longer, shorter = (work(p, blade, s, s.finishes[0]) for s in (shop, short))
    by = {one.id: one.minutes - other.minutes for one, other in zip(longer.tasks, shorter.tasks, strict=True)}
    assert by["profile"] == pytest.approx((2 * 110 + tang.width_mm + height - tang.width_mm) / 12)
    assert by["skin"] == pytest.approx(2 * 110 * tang.width_mm * 0.1 / 0.5 / 450)  # hardened steel, half as fast
    assert longer.steel_g - shorter.steel_g == pytest.approx(110 * tang.width_mm * p.stock_thickness_mm * 7.8e-3)


@pytest.mark.parametrize("pieces", [1, 40, 500])
def test_parcels_go_by_weight(pieces: int, service: Service, answered, shop) -> None:
    answer = answered["left-handed-hunter"].answer
    p = answer.proposal
    made = work(p, followed_blade(service.grinds[p.grind], p), shop, shop.finishes[0])
    found = service.workshop.price(answer, Order(pieces=pieces, shipping="parcel"), shop)
    (line,) = (line for line in found.lines if line.id == "shipping")
    assert line.quantity == math.ceil(pieces / (30 // ((made.steel_g + 250) / 1000)))
    assert line.amount == line.quantity * line.rate
    assert line.quantity > 1 or pieces == 1 or pieces * (made.steel_g + 250) <= 30_000


def test_handle_and_sheath_are_steps_and_their_times_are_learned(service: Service, answered, shop) -> None:
    brief, answer = answered["left-handed-hunter"][:2]
    order = Order(handle="oiled-wood", sheath="leather")
    text = worksheet_text(service.workshop.worksheet(brief, answer, shop, order))
    steps = re.findall(r"^\d+\. (.*)$", text, re.MULTILINE)
    assert steps[-4:] == ["Finish", "Handle", "Edge", "Sheath"]
    planned = {done.id: done for done in service.workshop.price(answer, order, shop).work}
    assert planned["handle"].minutes == 95
    assert planned["sheath"].minutes == 70
    operation = fitting("handle", shop.handles[0])
    jobs = [Job(operation.rate_from, 1.0, minutes) for minutes in (100.0, 110.0, 120.0)]
    (fitted,) = fits(jobs, shop)
    assert fitted.rate == "handles.oiled-wood.minutes"
    assert 1 / fitted.per_min == pytest.approx(110)  # least squares through 0 for equal amounts: the mean


def test_a_customer_reads_no_negative_lead(service: Service, shop) -> None:
    brief = with_settings(Brief(), ["tasks.food-prep=1", "wishes.grind=scandi"])
    answer = service.recommend(brief, flips=False)
    assert answer.points is not None
    assert any(a.points is not None and a.points > answer.points.total for a in answer.alternatives)
    quote = service.workshop.quote(brief, answer, Order(), shop, date(2026, 1, 1))(1, 1)
    text = document_markdown(quote.document)
    assert not re.search(r"-\d+(\.\d+)? behind", text)
    assert "is what was wished, not what serves best" in text
    assert "--set" not in text


def says_one_number(service: Service, brief: Brief, answer: Answer, shop: Shop) -> None:
    """Whatever two papers show is the same figure in the same digits."""
    p, lengths = answer.proposal, Lengths()
    assert p is not None
    assert answer.blade is not None
    assert answer.shop is not None
    order = Order()
    sheet = service.workshop.worksheet(brief, answer, shop, order)
    pages = service.drawings.sheet(answer).pages
    labels = [item.text for page in pages for item in page.on_paper() if isinstance(item, Label)]
    quote = service.workshop.quote(brief, answer, order, shop, date(2026, 1, 1))(1, 1)
    papers = {
        "answer": answer_text(answer, None, audience="maker", width=400),
        "sheet": worksheet_text(sheet, width=400),
        "drawing": " ".join(labels),
        "quote": document_markdown(quote.document),
    }
    papers = {name: " ".join(text.replace("\xa0", " ").split()) for name, text in papers.items()}
    everywhere = [angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)]
    if p.micro_bevel_per_side_deg is not None:
        everywhere.append(angle(p.micro_bevel_per_side_deg, p.micro_bevel_included_deg))
    for words in everywhere:
        assert [name for name, text in papers.items() if name != "drawing" and words not in text] == [], words
    stock = lengths(p.stock_thickness_mm)
    assert [name for name, text in papers.items() if stock.removesuffix(" mm") not in text] == []
    mass = f"{answer.blade.mass_g:.0f} g"
    assert [name for name in ("answer", "sheet", "quote") if mass not in papers[name]] == [], mass
    if p.grind_line_below_spine_mm > 0.05:
        line = lengths.grind_line(p.grind_line_mm, p.grind_line_below_spine_mm)
        assert [name for name, text in papers.items() if line not in text] == [], line
    if p.edge_thickness_mm:
        behind = lengths(p.edge_thickness_mm)
        assert [name for name in ("answer", "sheet", "quote") if behind not in papers[name]] == [], behind
    if p.wheel_diameter_mm is not None:
        wheel = lengths(p.wheel_diameter_mm, 0)
        assert [name for name in ("answer", "sheet", "drawing") if wheel not in papers[name]] == [], wheel
    cool = f"~ {answer.shop.deepest_cool_pass_um:.0f} µm"
    assert [name for name in ("answer", "sheet", "drawing") if cool not in papers[name]] == [], cool
    if p.stock_thickness_mm >= 2:
        before = lengths(answer.shop.edge_thickness_before_hardening_mm)
        assert [name for name in ("answer", "sheet", "drawing") if f"~ {before}" not in papers[name]] == [], before


def test_every_paper_of_every_scenario_says_one_number(service: Service, answered, shop) -> None:
    for scenario in answered.values():
        says_one_number(service, scenario.brief, scenario.answer, shop)


class Answers:
    """Answers to scenarios in one shop after another: one whose wheels say nothing new is not answered anew.

    Of all that an answer says, only what is left on before hardening depends on a shop's skin.
    """

    def __init__(self, answered: dict[str, Scenario]) -> None:
        self._known = {name: [scenario.answer] for name, scenario in answered.items()}

    def given(self, service: Service, name: str, brief: Brief) -> Answer:
        """The answer to a scenario in a service's shop."""
        case = service.briefs.case(brief)
        for answer in self._known[name]:
            if answer.brief.workshop == case.resolved.brief.workshop:
                return answer if answer.proposal is None else of_skin(answer, answer.proposal, case)
        self._known[name].append(service.recommend(brief, flips=False))
        return self._known[name][-1]


def of_skin(answer: Answer, proposal: Proposal, case: Case) -> Answer:
    """An answer with what is left on before hardening in the shop of a case."""
    best, form = sized(case, case.registry.grinds[proposal.grind], designs_of(proposal)), form_of(proposal)
    assert best is not None
    assert form is not None
    figures = shop_figures(in_form(best, case, form), case.resolved.bench.skin_per_side_mm)
    return answer.model_copy(update={"shop": figures})


@pytest.fixture(scope="module")
def answers(answered: dict[str, Scenario]) -> Answers:
    return Answers(answered)


def in_another_shop(shop_toml: str, skin: float) -> Service:
    file = Path(shop_toml)
    file.write_text(file.read_text().replace(f"skin_per_side_mm = {SKIN}", f"skin_per_side_mm = {skin}"))
    return Service(shop=shop_toml)


@pytest.mark.parametrize("every", [4, pytest.param(1, marks=pytest.mark.long)])
@pytest.mark.parametrize("skin", [0.0, SKIN])
def test_every_paper_says_one_number_in_other_shops(
    skin: float, every: int, answered: dict[str, Scenario], answers: Answers, shop_toml: str
) -> None:
    service = in_another_shop(shop_toml, skin)
    shop = service.workshop.shop(shop_toml)
    seen = 0
    some = list(answered.items())[::every]
    for name, scenario in some:
        answer = answers.given(service, name, scenario.brief)
        if answer.proposal is not None:
            seen += 1
            says_one_number(service, scenario.brief, answer, shop)
    assert seen > len(some) / 2


def test_an_answer_whose_wheels_say_nothing_new_differs_by_the_skin_alone(
    service: Service, answered: dict[str, Scenario], answers: Answers, shop_toml: str
) -> None:
    """What the test before leans on."""
    other = in_another_shop(shop_toml, SKIN)
    name, brief = next((n, s.brief) for n, s in answered.items() if s.brief.workshop.wheels_mm is not None)
    anew, shared = other.recommend(brief, flips=False), answers.given(other, name, brief)
    assert anew.shop is not None
    assert shared.shop is not None
    assert shared.shop != answered[name].answer.shop
    of_edge = "edge_thickness_before_hardening_mm"  # one that lies half-way is rounded either way
    assert getattr(anew.shop, of_edge) == pytest.approx(getattr(shared.shop, of_edge), abs=0.0101)
    left_out = {"provenance": True, "shop": {of_edge}}
    assert anew.model_dump(exclude=left_out) == shared.model_dump(exclude=left_out)


def test_notes_on_the_model_are_for_the_maker(service: Service) -> None:
    """How far a figure can be trusted helps whoever decides, not whoever gets a quote."""
    notes = [r.rule for name, r in service.knowledge.rules.items() if name.startswith("estimate-")]
    advice = [rule for rule in notes if rule.kind == "advice"]
    assert len(advice) >= 2
    assert {rule.effect.audience for rule in advice} == {"maker"}
