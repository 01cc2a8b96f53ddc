"""What is shown before the engine is ready is what the engine computes."""

from numpy.testing import assert_allclose

from fourpatch.app.answers.ready import computed_answer, ready_answer
from fourpatch.app.words import turned_text


def test_the_ready_answer_is_what_is_computed_today() -> None:
    kept, now = ready_answer(), computed_answer()
    empty = {"cells": []}
    assert kept.model_copy(update={"answer": kept.answer.model_copy(update=empty)}) == now.model_copy(
        update={"answer": now.answer.model_copy(update=empty)}
    ), "run: python docs/generate.py"
    for one, other in zip(kept.answer.cells, now.answer.cells, strict=True):
        assert (one.measure, one.unit, one.meaning) == (other.measure, other.unit, other.meaning)
        # Kept with six digits; runs side by side are summed in another order on another processor.
        assert_allclose([other.value, other.reference], [one.value, one.reference], rtol=1e-4, atol=1e-4)


def test_a_stiffer_front_bar_moves_the_balance_to_the_front() -> None:
    ready = ready_answer()
    mid = [cell.change for cell in ready.answer.cells if cell.part == "mid"]
    assert len(mid) == 3
    assert min(mid) > 0.0
    assert "→ front" in turned_text(ready.answer)
