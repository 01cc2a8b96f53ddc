"""Works on a notebook in processes that are killed: imports once, then forks one for each line it is given.

Usage: killed.py make, with the path of a notebook on each line; or killed.py change PATH SETUP, with empty
lines. Each process says its id; one that changes a set-up says the id of each version once
`Setups.change` has returned; then it waits to be killed, which is said too.
"""

import os
import signal
import sys

from fourpatch.notebook.notebook import open_notebook


def main() -> None:
    task, *arguments = sys.argv[1:]
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            say(f"pid {os.getpid()}")
            if task == "change":
                change(*arguments)
            open_notebook(line.rstrip("\n"))
            say("made")
            signal.pause()
        os.waitpid(child, 0)
        say("killed")


def change(path: str, setup: str) -> None:
    """Change a set-up again and again, each version naming the one before."""
    notebook = open_notebook(path)
    head = notebook.setups.get(int(setup)).head
    while True:
        head = notebook.setups.change(int(setup), head=head.id, note=str(head.id), by="killed.py")
        say(str(head.id))


def say(line: str) -> None:
    """Write a line at once, whole."""
    os.write(1, f"{line}\n".encode())


if __name__ == "__main__":
    main()
