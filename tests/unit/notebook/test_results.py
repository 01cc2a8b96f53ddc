"""Results are found again by what they were computed from."""

import pytest

from fourpatch.notebook import results
from fourpatch.notebook.notebook import Notebook


def test_a_result_is_found_by_its_inputs_in_any_order(notebook: Notebook) -> None:
    notebook.results.keep("cure", {"car": 1, "text": "loose"}, {"sets": [{"a": 1.5}]})
    assert notebook.results.find("cure", {"text": "loose", "car": 1}) == {"sets": [{"a": 1.5}]}
    assert notebook.results.find("cure", {"text": "loose", "car": 2}) is None
    assert notebook.results.find("lap", {"text": "loose", "car": 1}) is None
    notebook.results.keep("cure", {"car": 1, "text": "loose"}, {"sets": []})
    assert notebook.results.find("cure", {"car": 1, "text": "loose"}) == {"sets": []}


def test_the_oldest_results_go(notebook: Notebook, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(results, "MOST", 3)
    for number in range(5):
        notebook.results.keep("lap", {"number": number}, {"time": number})
    found = [notebook.results.find("lap", {"number": number}) for number in range(5)]
    assert found == [None, None, {"time": 2}, {"time": 3}, {"time": 4}]


def test_another_version_of_fourpatch_computes_anew(
    notebook: Notebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook.results.keep("lap", {}, {"time": 1})
    monkeypatch.setattr(results, "__version__", "99")
    assert notebook.results.find("lap", {}) is None
