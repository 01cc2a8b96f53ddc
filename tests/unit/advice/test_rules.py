"""Rules of thumb: a complete catalogue, verdicts by their definition, and no number that is none."""

import math

import pytest
from numpy.testing import assert_allclose

from fourpatch.advice.rules.catalogue import RULES, rule_named
from fourpatch.advice.rules.check import AS_IT_STANDS, check_rules, rule_events
from fourpatch.advice.rules.quantities import QUANTITIES, hardly
from fourpatch.advice.rules.rule import CORNERS, KERBS, ROADS, SOURCE, TURN_INS, Change, Claim
from fourpatch.advice.rules.variants import changed_dampers, changed_vector
from fourpatch.advice.rules.verdict import Cell, CheckedClaim, CheckedRule, Outcome, Why, joined, outcome_of
from fourpatch.analysis.damper_map import AXLES, present_ratio
from fourpatch.analysis.statics import corner_loads
from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.car.setup import baseline_setup
from fourpatch.errors import AdviceError
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, C

ASKED_FOR = {
    "bump-below-rebound",
    "rebound-half-again",
    "smoother-road-larger-difference",
    "softer-front-bump-frees-entry",
    "softer-rear-bump-calms-entry",
    "nose-held-by-rebound-on-entry",
    "nose-held-by-rebound-on-exit",
    "stiff-bump-throws-off-kerbs",
}
SUBJECTS = {"dampers", "springs", "anti-roll bars", "geometry", "brakes", "differential", "aero"}
EVENTS = {*CORNERS, *TURN_INS, *ROADS, *KERBS, "step steer"}
CLAIM = Claim(says="it does", about="grip", quantity="balance", way="falls", events=CORNERS)


@pytest.fixture(scope="module")
def gt():
    return demo_car("gt")


@pytest.fixture(scope="module")
def checked(gt):
    return check_rules(gt, baseline_setup(gt))


def test_the_catalogue_is_complete():
    names = [rule.name for rule in RULES]
    assert len(names) == len(set(names))
    assert set(names) >= ASKED_FOR
    assert {rule.subject for rule in RULES} == SUBJECTS
    assert SOURCE == "common practice, no published source"
    for rule in RULES:
        assert rule.saying.endswith(".")
        assert rule.change != rule.back
        assert rule.claims
        for claim in rule.claims:
            assert claim.quantity in QUANTITIES
            assert set(claim.events) <= EVENTS


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_a_change_and_the_change_back_move_the_car_opposite_ways(rule, gt):
    base = changed_vector(gt, rule.before or AS_IT_STANDS)
    said, back = (changed_vector(gt, change) for change in (rule.change, rule.back))
    moved = said != base
    assert moved.any()
    assert ((back != base) == moved).all()
    if any(claim.way in ("costs little", "smoother is wider") for claim in rule.claims):
        return  # there it is a longer step the same way
    # A camber or ride height moves more than one number, all along a line; a damper's knees keep their sum.
    signs = ((said - base) * (back - base))[moved]
    assert (signs < 0.0).all()


@pytest.mark.parametrize("ratio", [0.5, 1.0, 3.0])
def test_a_ratio_keeps_the_sum(ratio, gt):
    vector = pack(gt)
    changed = changed_dampers(vector, Change(name="", ratio=ratio))
    for axle, corners in AXLES.items():
        # Rounding.
        assert_allclose(present_ratio(changed, axle=axle), ratio, rtol=1e-12)
        for corner in corners:
            slots = CORNER_BASE + corner * N_CORNER
            sums = [v[slots + C.bump_slope] + v[slots + C.rebound_slope] for v in (vector, changed)]
            assert_allclose(sums[1], sums[0], rtol=1e-12)


@pytest.mark.parametrize(
    ("way", "value", "back", "outcome"),
    [
        ("falls", -0.2, False, "agrees"),
        ("falls", 0.2, False, "against"),
        ("falls", 0.2, True, "agrees"),
        ("rises", 0.2, False, "agrees"),
        ("rises", 0.2, True, "against"),
        ("rises", 0.05, False, "hardly"),
        ("stays", -0.05, False, "agrees"),
        ("stays", -0.2, True, "against"),
        ("costs little", -5.0, True, "agrees"),
        ("costs little", 0.2, True, "against"),
        ("falls", math.nan, False, "unknown"),
    ],
)
def test_outcomes(way, value, back, outcome):
    claim = CLAIM.__class__(says="", about="grip", quantity="balance", way=way, events=CORNERS)
    assert outcome_of(claim, value=value, hardly=0.1, back=back) == outcome


def cell(event: str, outcome: Outcome) -> Cell:
    return Cell(
        event=event,
        window="mid",
        back=False,
        unit="points",
        before=0.0,
        value=1.0,
        hardly_measurable=0.1,
        outcome=outcome,
    )


@pytest.mark.parametrize(
    ("outcomes", "verdict"),
    [
        (("agrees", "agrees"), "agrees"),
        (("agrees", "hardly"), "depends"),
        (("agrees", "against"), "depends"),
        (("against", "hardly"), "disagrees"),
        (("hardly", "hardly"), "hardly matters"),
        (("hardly", "unknown"), "hardly matters"),
        (("agrees", "unknown"), "agrees"),
        (("unknown", "unknown"), "does not apply"),
    ],
)
def test_a_claims_verdict_by_two_events(outcomes, verdict):
    cells = tuple(
        cell(event, outcome) for event, outcome in zip(("slow corner", "fast corner"), outcomes, strict=True)
    )
    assert CheckedClaim(claim=CLAIM, cells=cells).verdict == verdict


@pytest.mark.parametrize(
    ("outcomes", "verdict"),
    [
        (("hardly", "agrees"), "hardly matters"),
        (("hardly", "hardly"), "hardly matters"),
        (("agrees", "hardly"), "depends"),
        (("against", "hardly"), "disagrees"),
        (("unknown", "hardly"), "hardly matters"),
    ],
)
def test_a_rules_verdict_by_two_claims_is_led_by_what_it_is_used_for(outcomes, verdict):
    claims = tuple(
        CheckedClaim(
            claim=CLAIM,
            cells=(cell("slow corner", outcome),),
        )
        for outcome in outcomes
    )
    why = Why(kind="", parts={}, sentence="None.")
    assert CheckedRule(rule=RULES[0], claims=claims, lacks="", why=why).verdict == verdict


def test_what_hardly_matters_is_under_what_can_be_measured_everywhere(checked):
    small = [one for one in checked if one.verdict == "hardly matters"]
    assert small
    for one in small:
        assert max(cell.weight for cell in one.claims[0].cells) <= 1.0


def test_within_one_event_both_ways_is_mixed():
    assert joined({"agrees", "hardly"}) == "agrees"
    assert joined({"agrees", "against"}) == "mixed"


def test_a_load_counts_from_a_thousandth_of_the_axles(gt):
    vector = pack(gt)
    front = corner_loads(vector)[:2].sum()
    # Rounding.
    assert_allclose(hardly("axle_load", "front", vector), 1e-3 * front, rtol=1e-12)


def test_every_rule_is_answered_and_no_number_is_missing(checked):
    assert [one.rule for one in checked] == list(RULES)
    for one in checked:
        assert one.verdict in ("agrees", "depends", "disagrees", "hardly matters")
        assert one.why.sentence.endswith(".")
        for claim in one.claims:
            assert claim.cells
            assert all(math.isfinite(cell.value) and math.isfinite(cell.before) for cell in claim.cells)


def test_the_paths_add_up_to_the_largest_effect(checked):
    split = [one for one in checked if one.why.parts and one.claims[0].claim.quantity == "balance"]
    assert len(split) > 10
    for one in split:
        # The same numbers summed in another order.
        assert_allclose(sum(one.why.parts.values()), one.claims[0].largest.value, rtol=1e-6, atol=1e-9)


def test_bars_move_only_the_lateral_share(gt):
    """In closed form a bar carries no load when both wheels of an axle move alike."""
    events = {"medium corner": rule_events(gt)["medium corner"]}  # where the front is within its grip
    rules = [rule_named("stiffer-front-bar-pushes"), rule_named("stiffer-rear-bar-frees")]
    for one in check_rules(gt, baseline_setup(gt), rules=rules, events=events):
        parts = one.why.parts
        assert one.why.kind == "lateral share"
        # The rest follows from the little more or less the car leans and sinks, and drifts: a seventh.
        assert abs(sum(parts.values()) - parts["lateral share"]) < 0.15 * abs(parts["lateral share"])


def test_a_rule_about_what_the_car_has_not_does_not_apply():
    hatchback = demo_car("hatchback")
    rules = [rule for rule in RULES if rule.lacks(hatchback)]
    assert rules
    for one in check_rules(hatchback, baseline_setup(hatchback), rules=rules, events={}):
        assert one.verdict == "does not apply"
        assert one.lacks


def test_a_step_beyond_a_parameters_range_is_not_computed(gt):
    """Brake bias at the end of its range: one way is left."""
    brakes = gt.brakes.model_copy(update={"front_share": 0.31})
    car = gt.model_copy(update={"brakes": brakes, "adjusters": []})
    events = {"medium corner": rule_events(gt)["medium corner"]}
    rule = rule_named("rearward-bias-frees-entry")
    (one,) = check_rules(car, baseline_setup(car), rules=[rule], events=events)
    outcomes = {cell.back: cell.outcome for cell in one.claims[0].cells}
    assert outcomes[False] == "unknown"
    assert outcomes[True] != "unknown"
    assert "range" in one.why.sentence


def test_an_unknown_rule_is_refused_with_near_ones():
    with pytest.raises(AdviceError, match=r"softer-front-bump.*Did you mean softer-front-bump-frees-entry"):
        rule_named("softer-front-bump")
