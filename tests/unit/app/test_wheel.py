"""What the browser needs is in the package: an installation has no network to fetch it from."""

import subprocess
import sys
from pathlib import Path
from zipfile import ZipFile

ROOT = Path(__file__).parents[3]


def test_every_script_style_and_licence_is_in_the_wheel(tmp_path: Path) -> None:
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    (wheel,) = tmp_path.glob("*.whl")
    inside = set(ZipFile(wheel).namelist())
    app = ROOT / "src" / "fourpatch" / "app"
    needed = [file for file in app.rglob("*") if file.is_file() and file.suffix in (".js", ".css", "")]
    assert any(file.name == "LICENSE" for file in needed)
    assert any(file.name == "car_view.js" for file in needed)
    missing = [file for file in needed if f"fourpatch/app/{file.relative_to(app).as_posix()}" not in inside]
    assert not missing


def test_nothing_is_fetched_from_elsewhere() -> None:
    app = ROOT / "src" / "fourpatch" / "app"
    for file in (*app.rglob("*.js"), *app.rglob("*.css")):
        if file.parent.name != "uplot":  # a library; its licence names its address
            text = file.read_text(encoding="utf-8")
            assert "http://" not in text.replace("http://www.w3.org/", ""), file
            assert "https://" not in text, file
