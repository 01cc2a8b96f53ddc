"""What a chart says to who cannot see it."""

import numpy as np
import pytest
from nicegui import Client
from nicegui.page import page

from fourpatch.app.parts.chart import Chart, span_text


@pytest.mark.parametrize(
    ("line", "digits", "text"),
    [
        ([2100.4, 5299.6, 3000.0], 0, "2,100 to 5,300"),
        ([-1.25, np.nan, 0.5], 1, "-1.2 to 0.5"),
        ([7.0, 7.0], 0, "7"),
        ([-0.2, 0.2], 0, "0"),
        ([np.nan, np.inf], 0, "no value"),
        ([], 0, "no value"),
    ],
)
def test_a_line_is_said_by_its_least_and_largest(line: list[float], digits: int, text: str) -> None:
    assert span_text(np.array(line), digits) == text


def chart(title: str, unit: str, *series: dict[str, object]) -> Chart:
    with Client(page("/a-chart"), request=None):
        return Chart(title=title, unit=unit, series=series, x={"label": "time [s]"})


def test_the_lines_of_b_are_said_and_those_of_a_are_not() -> None:
    drawn = chart("Load", "N", {"label": "FL A"}, {"label": "FL B"}, {"label": "FR B", "digits": 1})
    lines = [np.array([1.0, 2.0]), np.array([2100.0, 5300.0]), np.array([0.0, 0.25])]
    assert drawn.spoken(lines) == "Load, with B: FL 2,100 to 5,300 N, FR 0.0 to 0.2 N"


def test_a_line_named_as_its_chart_is_not_named_twice() -> None:
    drawn = chart("B behind A", "s, falling: B is quicker there", {"label": "B behind A", "digits": 2})
    assert drawn.spoken([np.array([-0.1, 0.3])]) == "B behind A: -0.10 to 0.30 s"
