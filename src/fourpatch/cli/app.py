"""The app in a browser."""

import click

from fourpatch.cli.output import note


@click.command(name="app")
@click.option("--port", type=click.IntRange(1, 65535), help="To listen at; any free one if left out.")
@click.option("--notebook", metavar="FILE", help="Notebook to keep everything in; your own if left out.")
@click.option("--no-browser", is_flag=True, help="Say the address and open nothing.")
@click.option(
    "--tablet",
    is_flag=True,
    help="Answer other devices in the network of the house too, a tablet beside the car or a second "
    "notebook, once the code that is then shown is typed there. They may do all that you may. What is sent "
    "is not encrypted: only in a network that you trust.",
)
def app(port: int | None, notebook: str | None, no_browser: bool, tablet: bool) -> None:
    """Open the workbench in a browser, served from this machine to this machine alone.

    It ends with Ctrl-C.
    """
    import gc
    from threading import Thread
    from webbrowser import open as open_browser

    from fourpatch.app.address import house_host, listen
    from fourpatch.notebook.notebook import open_notebook

    gc.disable()  # what is loaded now is kept: looking for what could go took a tenth of the start
    host = house_host() if tablet else None
    place, address = listen(port)
    opened = open_notebook(notebook)
    note(f"The notebook is {opened.path}")
    click.echo(f"Fourpatch is at {address} (Ctrl-C ends it)")
    house = None
    if host is not None:
        from fourpatch.app.house_code import House, HouseCode

        there, there_address = listen(place.getsockname()[1], host)
        house = House(host=host, place=there, code=HouseCode())
        click.echo(f"On the tablet open {there_address} and type the code {house.code.shown}")
    if not no_browser:  # it starts while the rest is loaded
        new = all(one.demo for one in opened.cars.listed())
        first = f"{address.rstrip('/')}/start" if new else address
        Thread(target=open_browser, args=(first,), daemon=True).start()
    from fourpatch.app.main import serve
    from fourpatch.app.shop import Shop

    serve(Shop(opened), place, house)
