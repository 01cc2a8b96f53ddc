"""The garage screen: which settings a car has, on which scale, and where they stand."""

import asyncio
from urllib.parse import urlencode

from fastapi import Request
from nicegui import Client, ui

from fourpatch.app.answers.garage import garage_lines, keep_garage, pasted, refused
from fourpatch.app.fault import fault_text
from fourpatch.app.frame import frame
from fourpatch.app.parts.garage_table import GarageTable
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.car.garage import GarageRow
from fourpatch.errors import FieldsError, FourpatchError, NotebookConflict

_LEAD = (
    "The settings of {name} as its garage screen shows them. Where you know what a number counts, choose its "
    "unit; then the car gets that value. Where nobody knows, the car as it is belongs to where the setting "
    "stands now. A ride height or a wing in a unit is counted from there too, and a brake bias is a share of "
    "pressure: garages measure them in places of their own. A wing of which this car knows nothing is taken "
    "for a small one, and the answers say how unsure that is."
)


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/garage", title="Garage screen", shop=shop, desk=desk):
        GaragePage(shop, desk)


class GaragePage:
    """The page's parts."""

    def __init__(self, shop: Shop, desk: Desk) -> None:
        self._shop, self._desk = shop, desk
        self._revision = shop.notebook.cars.get(desk.car_id).entry.revision
        opened = urlencode({"setup": str(desk.setup_id)})
        with ui.element("div").classes("fp-page fp-stack"):
            with ui.element("section").classes("fp-card fp-stack").props('aria-label="Garage screen"'):
                ui.label(_LEAD.format(name=desk.car.name))
                ui.html(
                    f'<p class="fp-small fp-noprint">Leave it as it is: <a href="/?{opened}">to the bench</a>'
                    ", "
                    f'<a href="/car?{opened}">to the car and its numbers</a>.</p>',
                    sanitize=False,
                )
                self._table = GarageTable(
                    garage_lines(shop.notebook, desk.car_id), on_keep=self._keep, on_paste=pasted
                )

    async def _keep(self, rows: list[GarageRow]) -> None:
        desk, notebook = self._desk, self._shop.notebook
        try:
            kept = await asyncio.to_thread(
                keep_garage, notebook, desk.car_id, rows, revision=self._revision, by=desk.window
            )
        except FieldsError as error:
            self._table.refuse(refused(error))
            return
        except NotebookConflict as error:
            self._table.refuse({"": {"": f"{error} Reload the page; what you typed stays here until then."}})
            return
        except FourpatchError as error:
            self._table.refuse({"": {"": fault_text(error)}})
            return
        self._revision = kept.entry.revision
        count = sum(row.have for row in rows)
        carried = f" {kept.setups} set-ups stand where they meant to." if kept.setups > 1 else ""
        said = f"Kept: {count} settings.{carried} {' '.join(kept.told)}".strip()
        self._table.kept(await asyncio.to_thread(garage_lines, notebook, desk.car_id), said)
