"""Long work: one place that knows what is running, how far it is, and what came of it.

A job belongs to the app, not to a tab: reload the page, or open another, and it is still there.
"""

import itertools
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any, Literal

from fourpatch.app.fault import fault_text
from fourpatch.errors import Stopped

State = Literal["waiting", "running", "done", "failed", "cancelled"]

MOST_KEPT = 50
"""Ended jobs that are remembered."""


@dataclass(kw_only=True)
class Job:
    """One piece of work."""

    id: str
    kind: str
    """What sort of work: "lap", "cure" ...; pages find theirs by it."""
    about: str
    """What it is asked of, in one line for people."""
    key: str
    """What decides its result; the same key is the same question."""
    state: State = "waiting"
    share: float = 0.0
    """How much is done, 0 to 1."""
    text: str = ""
    """What is being done."""
    begun: float = field(default_factory=time.time)
    ended: float | None = None
    result: Any = None
    """What came of it; of a cancelled job the part that was done, if it keeps one."""
    error: str = ""
    """What went wrong and what to do."""
    _cancel: threading.Event = field(default_factory=threading.Event)
    _listeners: list[Callable[["Job"], object]] | None = field(default_factory=list)
    """Told when it has ended; None once they were."""
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def progress(self, share: float, text: str) -> None:
        """Say how much is done and what is being done; the work's `fourpatch.long_work.Progress`."""
        self.share, self.text = min(max(share, 0.0), 1.0), text

    def cancelled(self) -> bool:
        """Say whether it was asked to stop; the work's `fourpatch.long_work.Cancelled`."""
        return self._cancel.is_set()

    def cancel(self) -> None:
        """Ask it to stop."""
        self._cancel.set()

    def when_over(self, told: Callable[["Job"], object]) -> None:
        """Have someone told once it has ended, whether or not a page still looks on; at once if it has."""
        with self._lock:
            if self._listeners is not None:
                self._listeners.append(told)
                return
        told(self)

    def close(self) -> None:
        """Tell who waits for its end; only then is it over."""
        while True:
            with self._lock:
                if not self._listeners:
                    self._listeners = None
                    return
                told = self._listeners.pop(0)
            try:
                told(self)
            except Exception as error:  # a fault of ours must not look like endless work
                self.error = fault_text(error)

    @property
    def over(self) -> bool:
        """Whether it has ended."""
        return self._listeners is None


class Jobs:
    """Runs jobs, two at a time, and remembers them; what nobody asked for waits in a line of its own."""

    def __init__(self, workers: int = 2) -> None:
        self._pool = ThreadPoolExecutor(workers, thread_name_prefix="job")
        self._aside = ThreadPoolExecutor(1, thread_name_prefix="job aside")
        self._jobs: dict[str, Job] = {}
        self._count = itertools.count(1)
        self._lock = threading.Lock()

    def start(
        self, kind: str, about: str, key: str, work: Callable[[Job], Any], *, unasked: bool = False
    ) -> Job:
        """Begin work, unless the same question is being worked on or answered already; return its job.

        Parameters
        ----------
        work : is given the job; calls ``progress`` and asks ``cancelled``; its return is the result.
        unasked : whether a page begins it by itself; it then keeps nothing waiting that a user asked for.
        """
        with self._lock:
            for job in self._jobs.values():
                if (job.kind, job.key) == (kind, key) and job.state in ("waiting", "running", "done"):
                    return job
            job = Job(id=f"{kind}-{next(self._count)}", kind=kind, about=about, key=key)
            self._jobs[job.id] = job
            self._forget()
        (self._aside if unasked else self._pool).submit(self._run, job, work)
        return job

    def get(self, job_id: str) -> Job | None:
        """Return a job by its id."""
        return self._jobs.get(job_id)

    def of(self, kind: str, key: str | None = None) -> Job | None:
        """Return the latest job of a kind, and of a key if given."""
        found = [job for job in self._jobs.values() if job.kind == kind and key in (None, job.key)]
        return found[-1] if found else None

    def latest(self, kind: str, beginning: str) -> Job | None:
        """Return the latest job of a kind whose key begins so."""
        found = [job for job in self._jobs.values() if job.kind == kind and job.key.startswith(beginning)]
        return found[-1] if found else None

    def all(self) -> list[Job]:
        """Return the jobs, oldest first."""
        return list(self._jobs.values())

    def close(self) -> None:
        """Ask all to stop, and take no more."""
        for job in self._jobs.values():
            job.cancel()
        for pool in (self._pool, self._aside):
            pool.shutdown(wait=False, cancel_futures=True)

    def _run(self, job: Job, work: Callable[[Job], Any]) -> None:
        if job.cancelled():
            job.state, job.ended = "cancelled", time.time()
            job.close()
            return
        job.state = "running"
        try:
            job.result = work(job)
            job.state = "cancelled" if job.cancelled() else "done"
        except Stopped:
            job.state = "cancelled"
        except Exception as error:  # a fault of ours must not look like endless work
            job.state, job.error = "failed", fault_text(error)
        job.ended = time.time()
        if job.state == "done":
            job.share = 1.0
        job.close()

    def _forget(self) -> None:
        ended = [job for job in self._jobs.values() if job.over]
        for job in ended[: max(0, len(ended) - MOST_KEPT)]:
            del self._jobs[job.id]
