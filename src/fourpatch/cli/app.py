"""The app in a browser."""

import click

from fourpatch.cli.output import note


@click.command(name="app")
@click.option("--port", type=click.IntRange(1, 65535), help="To listen at; any free one if left out.")
@click.option("--notebook", metavar="FILE", help="Notebook to keep everything in; your own if left out.")
@click.option("--no-browser", is_flag=True, help="Say the address and open nothing.")
def app(port: int | None, notebook: str | None, no_browser: bool) -> None:
    """Open the workbench in a browser, served from this machine to this machine alone.

    It ends with Ctrl-C.
    """
    import gc
    from threading import Thread
    from webbrowser import open as open_browser

    from fourpatch.app.address import listen
    from fourpatch.notebook.notebook import open_notebook

    gc.disable()  # what is loaded now is kept: looking for what could go took a tenth of the start
    place, address = listen(port)
    opened = open_notebook(notebook)
    note(f"The notebook is {opened.path}")
    click.echo(f"Fourpatch is at {address} (Ctrl-C ends it)")
    if not no_browser:  # it starts while the rest is loaded
        new = all(one.demo for one in opened.cars.listed())
        first = f"{address.rstrip('/')}/start" if new else address
        Thread(target=open_browser, args=(first,), daemon=True).start()
    from fourpatch.app.main import serve
    from fourpatch.app.shop import Shop

    serve(Shop(opened), place)
