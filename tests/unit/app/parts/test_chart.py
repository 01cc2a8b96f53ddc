"""What a chart says to who cannot see it."""

import numpy as np
import pytest

from fourpatch.app.parts.chart import span_text


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
