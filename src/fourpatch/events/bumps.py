"""The events that go straight over an uneven road: what contact-patch load is measured in."""

from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.measured_road import MeasuredRoad
from fourpatch.events.rough_road import RoughRoad

BumpEvent = KerbStrike | RoughRoad | MeasuredRoad
"""Its first phase leads in; all after it is measured."""
