from collections.abc import Callable
from pathlib import Path

from click.testing import Result
from PIL import Image

Command = Callable[..., Result]


def test_two_set_ups_on_one_lap(fourpatch: Command) -> None:
    asked = (
        "film",
        "lap",
        "gt",
        "lap.gif",
        "--track",
        "chicanes",
        "--change",
        "front bar=+1",
        "--length",
        "0.4",
    )
    result = fourpatch(*asked)
    assert result.exit_code == 0, result.stderr
    with Image.open("lap.gif") as film:
        assert film.n_frames == 5  # type: ignore[attr-defined]
    assert "--force" in fourpatch(*asked).stderr


def test_what_cannot_be_filmed_is_refused(refused: Callable[..., str], tmp_path: Path) -> None:
    asked = ("film", "lap", "gt")
    assert "no kind of film" in refused(*asked, "lap.avi", "--track", "chicanes")
    assert "lap is over after" in refused(*asked, "lap.gif", "--track", "chicanes", "--start", "500")
    assert list(tmp_path.iterdir()) == []
