"""The loop behind a slider: the latest wins, nothing queues, a fault does not end it."""

import asyncio
import threading
from collections.abc import Callable
from typing import Any

from fourpatch.app.live import LiveLoop, Stage

SLOW = 7
"""A number that the page is too busy to say it has drawn."""


def run_loop(script: Callable[[LiveLoop, dict[str, Any]], Any]) -> dict[str, Any]:
    """Run a loop of two stages that copy a number, beside a script that changes it."""
    seen: dict[str, Any] = {"value": 0, "first": [], "second": [], "refused": [], "gate": threading.Event()}
    seen["gate"].set()

    def compute() -> int:
        seen["gate"].wait(5.0)
        if seen["value"] < 0:
            raise ValueError("below zero")
        return int(seen["value"])

    def shower(name: str) -> Callable[[int], Any]:
        async def show(value: int) -> None:
            seen[name].append(value)
            if value == SLOW:
                raise TimeoutError

        return show

    async def main() -> None:
        loop = LiveLoop(
            [Stage(compute, shower("first")), Stage(compute, shower("second"))],
            refuse=lambda error: seen["refused"].append(str(error)),
        )
        loop.start()
        await script(loop, seen)
        loop.stop()
        await asyncio.sleep(0)

    asyncio.run(main())
    return seen


async def settled() -> None:
    await asyncio.sleep(0.1)


def test_what_changes_while_it_computes_is_computed_once_and_as_it_is_then() -> None:
    async def script(loop: LiveLoop, seen: dict[str, Any]) -> None:
        await settled()
        seen["gate"].clear()
        for value in range(1, 6):
            seen["value"] = value
            loop.wake()
            await asyncio.sleep(0.005)
        seen["gate"].set()
        await settled()

    seen = run_loop(script)
    assert seen["first"][0] == 0
    assert seen["first"][-1] == seen["second"][-1] == 5
    assert len(seen["first"]) <= 3  # at the start, the one under way, the one after


def test_the_rest_waits_while_the_hand_moves() -> None:
    async def script(loop: LiveLoop, seen: dict[str, Any]) -> None:
        await settled()
        seen["gate"].clear()
        seen["value"] = 1
        loop.wake()
        await asyncio.sleep(0.02)
        seen["value"] = 2
        loop.wake()  # moved again before the first stage has answered
        await asyncio.sleep(0.02)
        seen["gate"].set()
        await settled()

    seen = run_loop(script)
    assert seen["second"] == [0, 2]


def test_a_fault_is_told_and_the_loop_goes_on() -> None:
    async def script(loop: LiveLoop, seen: dict[str, Any]) -> None:
        await settled()
        for value in (-1, 3):
            seen["value"] = value
            loop.wake()
            await settled()

    seen = run_loop(script)
    assert seen["refused"] == ["below zero"]
    assert seen["first"][-1] == 3


def test_a_page_too_busy_to_say_that_it_has_drawn_still_gets_the_rest() -> None:
    async def script(loop: LiveLoop, seen: dict[str, Any]) -> None:
        await settled()
        seen["value"] = SLOW
        loop.wake()
        await settled()

    seen = run_loop(script)
    assert seen["first"] == seen["second"] == [0, SLOW]
    assert seen["refused"] == []


def test_a_stopped_loop_leaves_no_task() -> None:
    async def script(loop: LiveLoop, seen: dict[str, Any]) -> None:
        await settled()
        assert any(task.get_name() == "live loop" for task in asyncio.all_tasks())
        loop.stop()
        await asyncio.sleep(0.01)
        assert not any(task.get_name() == "live loop" for task in asyncio.all_tasks())

    run_loop(script)


def test_what_only_the_last_stage_is_asked_leaves_the_others_as_shown() -> None:
    async def script(loop: LiveLoop, seen: dict[str, Any]) -> None:
        await settled()
        seen["value"] = 1
        loop.wake_last()
        await settled()
        assert (seen["first"], seen["second"]) == ([0], [0, 1])
        seen["gate"].clear()
        seen["value"] = 2
        loop.wake()
        await asyncio.sleep(0.02)
        loop.wake_last()  # must not make it forget the stages that are due
        seen["gate"].set()
        await settled()

    seen = run_loop(script)
    assert seen["first"][-1] == seen["second"][-1] == 2


def test_a_stage_left_out_for_the_last_one_is_made_up_for() -> None:
    shown: list[str] = []
    gate = threading.Event()

    def shower(name: str) -> Callable[[int], Any]:
        async def show(value: int) -> None:
            shown.append(f"{name}{value}")

        return show

    async def main() -> None:
        value = {"now": 0}

        def compute() -> int:
            gate.wait(5.0)
            return value["now"]

        stages = [Stage(compute, shower(name)) for name in ("first", "middle", "last")]
        loop = LiveLoop(stages, refuse=lambda error: shown.append(str(error)))
        gate.set()
        loop.start()
        await settled()
        gate.clear()
        value["now"] = 1
        loop.wake()
        await asyncio.sleep(0.02)
        loop.wake_last()  # while the first stage is computed: the middle one is left out, and still due
        gate.set()
        await settled()
        loop.stop()

    asyncio.run(main())
    assert shown[-3:] == ["first1", "middle1", "last1"]


def test_a_part_that_waits_for_rest_is_left_out_while_the_hand_moves_and_comes_when_it_rests() -> None:
    shown: list[tuple[str, int]] = []
    now = {"value": 0}

    def stage(name: str, rest: float) -> Stage:
        async def show(value: int) -> None:
            shown.append((name, value))

        return Stage(lambda: now["value"], show, rest=rest)

    async def main() -> None:
        loop = LiveLoop([stage("quick", 0.0), stage("slow", 0.2)], refuse=lambda _: None)
        loop.start()
        await asyncio.sleep(0.1)
        assert shown == [("quick", 0), ("slow", 0)]  # the first answer waits for nothing
        for value in range(1, 9):  # for longer than `LONGEST_WAIT`
            now["value"] = value
            loop.wake()
            await asyncio.sleep(0.06)
        assert ("quick", 7) in shown
        assert [one for one in shown[2:] if one[0] == "slow"] == []
        await asyncio.sleep(0.4)
        loop.stop()

    asyncio.run(main())
    assert shown[-1] == ("slow", 8)
