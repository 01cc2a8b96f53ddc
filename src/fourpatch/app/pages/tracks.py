"""Tracks: a new one from words or a file, and one of those there are, changed by clicking on it."""

from fastapi import Request
from nicegui import Client, ui

from fourpatch.app.frame import frame
from fourpatch.app.pages.track_maker import TrackMaker
from fourpatch.app.pages.track_sheet import TrackSheet
from fourpatch.app.shop import Shop
from fourpatch.errors import NotebookError


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = None
    try:
        desk = shop.desk(request.query_params)
    except NotebookError:  # tracks need no car
        pass
    with frame("/tracks", title="Tracks", shop=shop, desk=desk):
        TracksPage(shop, request.query_params.get("track", ""), request.query_params.get("setup", ""))


class TracksPage:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, wanted: str, setup: str) -> None:
        """Draw the page.

        Parameters
        ----------
        wanted : id of the track to begin with; the first if it is not there.
        setup : id of the set-up that is open, carried along.
        """
        self._shop, self._setup = shop, setup
        tracks, faults = shop.laps.tracks()
        self._tracks = {str(one.id): one for one in tracks}
        with ui.element("div").classes("fp-page fp-stack"):
            for name, text in faults.items():
                ui.label(f'The track "{name}" cannot be read and is left out. {text}').classes(
                    "fp-warnbox"
                ).props('role="alert"')
            TrackMaker(shop, setup, open_=not tracks)
            self._place = ui.element("div").classes("fp-stack")
        if tracks:
            key = wanted if wanted in self._tracks else next(iter(self._tracks))
            with self._place:
                TrackSheet(shop, int(key), self._tracks, setup)
