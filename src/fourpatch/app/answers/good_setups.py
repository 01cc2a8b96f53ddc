"""Set-ups that may have been good before: what the notebook has of a car, those that worked named so."""

from fourpatch.notebook.notebook import Notebook

_MOST = 30  # in the list


def good_setups(notebook: Notebook, car_id: int, head: int) -> dict[str, str]:
    """Return what to choose from: nothing told, A, then versions by their id, those that worked first.

    Parameters
    ----------
    head : the version that is on the desk, which is the one complained of.
    """
    worked = {
        trial.version_id
        for one in notebook.complaints.listed(car_id)
        for trial in one.trials
        if trial.outcome == "worked" and trial.version_id is not None
    }
    versions = [
        version for entry in notebook.setups.listed(car_id) for version in notebook.setups.history(entry.id)
    ]
    versions = [one for one in versions if one.id != head]
    versions.sort(key=lambda one: (one.id not in worked, -one.id))
    found = {"": "not told", "a": "A, the reference"}
    for one in versions[:_MOST]:
        said = ", which worked" if one.id in worked else ""
        found[str(one.id)] = f"{one.name}, {one.made:%d %b %H:%M}{said}"
    return found
