#!/usr/bin/env python3
"""One command for every check of Fourpatch: ``python3 dev.py SECTION`` (``make SECTION`` calls it).

It needs a supported Python and nothing else. The first run makes the environment ``.venv`` and installs
the locked libraries into it; later runs install again only when a lock file or ``pyproject.toml`` changed.
``FOURPATCH_VENV`` names another folder for the environment.
"""

import argparse
import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

OLDEST, NEWEST = (3, 11), (3, 14)  # NEWEST: the last one that all locked libraries have wheels for

# First of all: what stands below, down to the imports of the sections, may be read by an old Python.
if not OLDEST <= sys.version_info[:2] <= NEWEST:
    sys.exit(
        "Fourpatch needs Python {}.{} to {}.{}; this is {}.{}. Start dev.py with one of those "
        "(Windows: py -3.11 dev.py ...).".format(*OLDEST, *NEWEST, *sys.version_info[:2])
    )

ROOT = Path(__file__).resolve().parent
VENV = Path(os.environ.get("FOURPATCH_VENV") or ROOT / ".venv").resolve()
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
STAMP = VENV / "fourpatch-installed.txt"
LOG = VENV / "fourpatch-install.log"
NETWORK_SIGNS = (  # in pip's output
    "NewConnectionError",
    "NameResolutionError",
    "ConnectTimeoutError",
    "ReadTimeoutError",
    "ProxyError",
    "SSLError",
    "ProtocolError",
)
LOCKS = {name: ROOT / "requirements" / f"{name}.txt" for name in ("dev", "run")}


# The environment


def set_up(lock: str) -> None:
    """Make the environment and bring it to the given lock, unless it stands there already."""
    stamp = STAMP.read_text(encoding="utf-8") if STAMP.exists() and PYTHON.exists() else ""
    if stamp in {expected_stamp(lock), expected_stamp("dev")}:  # dev holds all of run
        return
    if not PYTHON.exists():
        make_environment()
    STAMP.unlink(missing_ok=True)
    LOG.write_text("", encoding="utf-8")
    count = sum(line[0].isalnum() for line in LOCKS[lock].open(encoding="utf-8"))
    print(f"Installing {count} locked libraries into {VENV} (the first time takes minutes) ...", flush=True)
    install("--require-hashes", "--only-binary", ":all:", "--requirement", str(LOCKS[lock]))
    install("--no-build-isolation", "--no-deps", "--editable", str(ROOT))
    STAMP.write_text(expected_stamp(lock), encoding="utf-8")


def expected_stamp(lock: str) -> str:
    """Name of the lock and a digest of all that decides what an installation from it holds."""
    digest = hashlib.sha256(str(ROOT).encode())  # an editable install points here
    for file in (LOCKS[lock], ROOT / "pyproject.toml"):
        digest.update(file.read_bytes())
    return f"{lock} {digest.hexdigest()}"


def make_environment() -> None:
    """Make an empty environment; over an old one only if its Python is gone, never over other files."""
    if VENV.exists() and not (VENV / "pyvenv.cfg").exists() and any(VENV.iterdir()):
        sys.exit(f"{VENV} is not a Python environment: name another folder in FOURPATCH_VENV.")
    made = subprocess.run(
        [sys.executable, "-m", "venv", "--clear", str(VENV)], capture_output=True, text=True
    )
    if made.returncode != 0:
        sys.exit(
            f"Python could not make an environment in {VENV}: {last_line(made.stdout + made.stderr)} "
            "(Debian and Ubuntu: apt install python3-venv)"
        )


def install(*arguments: str) -> None:
    """Run pip in the environment; if it fails, say why in one line and where pip's own words are."""
    command = [str(PYTHON), "-m", "pip", "install", "--no-input", "--disable-pip-version-check"]
    command += ["--progress-bar", "off", *arguments]
    with LOG.open("a", encoding="utf-8") as log:
        code = subprocess.run(command, cwd=ROOT, stdout=log, stderr=subprocess.STDOUT).returncode
    if code != 0:
        sys.exit(f"{why_pip_failed(LOG.read_text(encoding='utf-8', errors='replace'))} (details: {LOG})")


def why_pip_failed(log: str) -> str:
    """Return the cause of a failed pip run and what to do, from its output."""
    if any(sign in log for sign in NETWORK_SIGNS):
        return "The package index cannot be reached: check the network and pip's proxy settings, run again."
    if "DO NOT MATCH THE HASHES" in log:
        return "A downloaded library differs from the locked one: run again; if it stays so, report it."
    if "No matching distribution found" in log:
        return (
            "A locked library has no wheel for this system and Python: "
            "Fourpatch runs on Windows, Linux with glibc, and macOS on Apple silicon."
        )
    return f"Installing failed: {last_line(log)}"


def last_line(text: str) -> str:
    """Return the last line of a program's output, for a message of one line."""
    return (text.strip().splitlines() or ["no output"])[-1]


# Running


class Failures:
    """Runs commands in the environment, goes on after one fails, and remembers which did."""

    def __init__(self) -> None:
        self.names: list[str] = []

    def run(self, name: str, *command: str, **variables: str) -> None:
        """Run one command of the environment, named after its program or a module of its Python."""
        print(f"\n== {name}", flush=True)
        program = shutil.which(command[0], path=str(BIN))  # finds .exe on Windows
        if program is None:
            sys.exit(f"{command[0]} is not in {VENV}: delete {STAMP} and run again.")
        if subprocess.run([program, *command[1:]], cwd=ROOT, env={**os.environ, **variables}).returncode:
            self.names.append(name)

    def pytest(self, name: str, *paths: str, **variables: str) -> None:
        """Run the tests in some folders, on two processes."""
        self.run(name, "python", "-m", "pytest", "-n", "2", *paths, **variables)


# The sections; a docstring is the section's line in the help


def test(check: Failures) -> None:
    """Lint, run all tests, and those of the kernels uncompiled: what decides whether a change may land."""
    lint(check)
    check.pytest("all tests")
    no_jit(check)


def lint(check: Failures) -> None:
    """Check style, format, types, and which part imports which."""
    check.run("ruff check", "ruff", "check")
    check.run("ruff format", "ruff", "format", "--check")
    check.run("mypy", "mypy")
    check.run("import-linter", "lint-imports")


def unit(check: Failures) -> None:
    """Test whether each part behaves, refuses and explains."""
    check.pytest("unit", "tests/unit")


def validation(check: Failures) -> None:
    """Test whether the answers agree with published sources."""
    check.pytest("validation", "tests/validation")


def properties(check: Failures) -> None:
    """Test on random cars what must hold for any car."""
    check.pytest("properties", "tests/properties")


def agreement(check: Failures) -> None:
    """Test whether two roads to one number meet."""
    check.pytest("agreement", "tests/agreement")


def browser(check: Failures) -> None:
    """Test the app in a real browser (Debian: apt install chromium; or name it in FOURPATCH_CHROMIUM)."""
    check.pytest("browser", "tests/app")


def docs(check: Failures) -> None:
    """Test whether what the documents and docstrings say is true."""
    check.pytest("docs", "tests/docs", "src")


def no_jit(check: Failures) -> None:
    """Run the unit tests of the kernels as plain Python, to prove that they are just that."""
    if (ROOT / "tests" / "unit" / "physics").exists():
        check.pytest("physics uncompiled", "tests/unit/physics", NUMBA_DISABLE_JIT="1")


def bench_smoke(check: Failures) -> None:
    """Run each benchmark at its smallest size, so that none rots; its timings decide nothing."""
    for script in sorted((ROOT / "benchmarks").glob("*.py")):
        if script.name != "measure.py":  # what the benchmarks share
            check.run(f"benchmark {script.stem}", "python", str(script), "--smallest")


def demo(check: Failures) -> None:
    """Run `fourpatch demo`, with the run-time libraries alone."""
    check.run("fourpatch demo", "fourpatch", "demo")


def app(check: Failures) -> None:
    """Open the workbench in a browser; Ctrl-C ends it."""
    check.run("fourpatch app", "fourpatch", "app")


def setup(check: Failures) -> None:
    """Bring the environment up to date, no more."""


def format_code(check: Failures) -> None:
    """Let ruff mend what it can."""
    check.run("ruff check", "ruff", "check", "--fix")
    check.run("ruff format", "ruff", "format")


def lock(check: Failures) -> None:
    """Bring the lock files in line with pyproject.toml, keeping versions where it can."""
    write_locks(check)


def upgrade(check: Failures) -> None:
    """Write the lock files anew, with the newest versions."""
    write_locks(check, "--upgrade")


def write_locks(check: Failures, *options: str) -> None:
    """Resolve pyproject.toml for all systems and Pythons at once, with hashes and without addresses."""
    import tomllib  # which an old Python has not

    command = ["uv", "pip", "compile", "--no-config", "--quiet", "--universal"]
    command += ["--python-version", "{}.{}".format(*OLDEST), "--fork-strategy", "fewest", "--generate-hashes"]
    command += ["--no-emit-index-url", "--no-annotate", "--no-header", "--no-strip-extras"]
    command += options
    whole = [*command, "pyproject.toml", "--group", "build"]
    dev, run = (str(LOCKS[name].relative_to(ROOT)) for name in ("dev", "run"))
    check.run("lock dev", *whole, "--group", "test", "--group", "lint", "--group", "lock", "-o", dev)
    check.run("lock run", *whole, "--constraints", dev, "-o", run)  # so that both hold the same versions
    # What a GPU asks for beside them: large, so of neither.
    wanted = VENV / "gpu.in"
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted.write_text("\n".join(project["optional-dependencies"]["gpu"]), encoding="utf-8")
    check.run("lock gpu", *command, str(wanted), "--constraints", dev, "-o", "requirements/gpu.txt")


SECTIONS = {
    "test": test,
    "lint": lint,
    "unit": unit,
    "validation": validation,
    "properties": properties,
    "agreement": agreement,
    "browser": browser,
    "docs": docs,
    "no-jit": no_jit,
    "bench-smoke": bench_smoke,
    "demo": demo,
    "app": app,
    "setup": setup,
    "format": format_code,
    "lock": lock,
    "upgrade": upgrade,
}

RUN_TIME_ALONE = (["demo"], ["app"])
"""Sections of a user, which need no tools of a developer."""


def main() -> None:
    """Bring the environment up to date, run the sections asked for, and end with a line that sums up."""
    parser = argparse.ArgumentParser(
        description="One command for every check of Fourpatch.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="sections:\n" + "\n".join(f"  {name:<12} {f.__doc__}" for name, f in SECTIONS.items()),
    )
    parser.add_argument("--version", action="version", version="%(prog)s on Python " + sys.version.split()[0])
    parser.add_argument("section", nargs="+", choices=SECTIONS, metavar="SECTION", help="see below")
    sections = parser.parse_args().section
    if sections in RUN_TIME_ALONE:
        print("A first start installs libraries and compiles the engine: two to three minutes.", flush=True)
    set_up("run" if sections in RUN_TIME_ALONE else "dev")
    check = Failures()
    for section in sections:
        SECTIONS[section](check)
    if check.names:
        sys.exit(f"\nFailed: {', '.join(check.names)}")


if __name__ == "__main__":
    try:
        main()
    except KeyboardInterrupt:
        sys.exit("\nStopped.")
