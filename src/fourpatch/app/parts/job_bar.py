"""How far long work is, with a button to stop it; it finds its job again after a reload."""

from collections.abc import Callable
from typing import Any

from nicegui import ui

from fourpatch.app.jobs import Job
from fourpatch.app.parts.button import button


class JobBar:
    """Shows one job at a time and tells when it has ended."""

    def __init__(
        self, *, on_end: Callable[[Job], Any], on_part: Callable[[Job], Any] = lambda job: None
    ) -> None:
        """Draw an empty bar.

        Parameters
        ----------
        on_end : told the job, once, when it is done, failed or cancelled.
        on_part : told the job whenever it has another part of its result while it runs.
        """
        self._job: Job | None = None
        self._on_end, self._on_part = on_end, on_part
        self._part: Any = None
        with ui.element("div").classes("fp-job fp-row") as self._place:
            self._bar = ui.element("progress").props('max="100" aria-label="Progress"')
            self._text = ui.label().classes("fp-small").props('role="status"')
            self._stop = button("Stop", self._cancel, tell="Stop and keep what is done")
        self._place.set_visibility(False)
        self._timer = ui.timer(0.2, self._look, active=False)

    def follow(self, job: Job) -> None:
        """Show a job until it ends."""
        self._job, self._part = job, None
        self._stop.set_enabled(not job.cancelled())
        self._place.set_visibility(True)
        self._timer.activate()
        self._look()

    def _cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()
            self._stop.set_enabled(False)

    def _look(self) -> None:
        job = self._job
        if job is None:
            return
        self._bar._props["value"] = round(100 * job.share)
        self._bar.update()
        said = job.text or job.about
        if job.cancelled():
            said = f"Stopping as soon as it can: {said}"
        self._text.set_text(f"{said} · {100 * job.share:.0f} %" if job.share else said)
        if job.over:
            self._timer.deactivate()
            self._place.set_visibility(False)
            self._job = None
            self._on_end(job)
        elif job.result is not self._part:
            self._part = job.result
            self._on_part(job)
